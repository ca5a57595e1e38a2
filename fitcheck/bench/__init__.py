"""Bench readings of a coupling: from a file of torques and twists to a report, a plot, and lines for a job."""
