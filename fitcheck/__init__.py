"""Checks whether a shaft coupling fits, holds and works in a motor-to-actuator adapter."""

__version__ = "0.1.0"
