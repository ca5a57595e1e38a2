"""The only room that touches the CAD kernel; it runs in its own process."""
