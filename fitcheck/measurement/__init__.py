"""What is measured: plain data, and the analysis that makes it, without a CAD kernel."""
