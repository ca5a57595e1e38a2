"""Couplings of every family: dimensions as plain data, and three views of each (detailed, envelope, profile).

The frame of a coupling: the drive axis is +Z, the motor hub's outer face lies at z = 0, x is shaft angle 0. Lengths mm,
angles degrees. Nothing here loads the CAD kernel until a solid is asked for. Start at
`parametric_models.couplings.build`.
"""
