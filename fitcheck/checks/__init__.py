"""The checks: each a pure function of (loaded job, measurement) that returns findings, one file a check."""
