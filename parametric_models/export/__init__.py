"""Couplings as files: STEP, STL, glTF and DXF, alone or in place in an adapter's file.

`worker` runs as a process of its own and is asked with plain data, so that the checker needs neither the CAD kernel nor
the generators in its own process.
"""
