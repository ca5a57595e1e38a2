"""Parametric models: couplings, adapters, motors and actuators as CadQuery shapes.

Nothing is imported here, so that a caller loads only the generators that it uses. Every model stands in the same
frame: the drive axis is +Z, the motor seat is the plane z = 0, the actuator lies at +z, and x is shaft angle 0.
Lengths are mm, angles degrees.
"""
