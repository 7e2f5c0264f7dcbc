"""Parts of the installer's pages."""
