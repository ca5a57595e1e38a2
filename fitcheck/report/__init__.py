"""Findings and measurements as text and as data for other tools."""
