"""What is asked: the typed job, read from a `*.fit.yaml` file."""
