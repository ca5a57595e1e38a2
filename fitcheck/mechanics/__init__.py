"""The formulas of the drive: demand, coupling, fastening, misalignment, wind-up, resonance and bench readings.

Pure functions of numbers. A name that ends in `_mm` holds millimetres, one in `_deg` degrees; everything else is SI
(m, s, kg, N, N·m, rad, rad/s, kg·m², N·m/rad, Pa). Each docstring says what it computes, its units, where it holds and
how well, and its source with a mark: read, package, computed (from a stated formula or derived here), memory, or
"common practice, no source". Nothing here reads a job or a measurement.
"""
