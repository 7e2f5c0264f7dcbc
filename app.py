"""The dashboard's entry point: page set-up and navigation, nothing else."""
