"""Results as printable pages: self-contained HTML, and PDF where its extra is installed."""
