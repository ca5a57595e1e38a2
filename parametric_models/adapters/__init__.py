"""Invented adapters between a motor and a linear actuator, one file a kind.

All of them stand in one frame: drive axis +Z, motor seat at z = 0, actuator at +z, x at shaft angle 0. Lengths mm,
angles degrees. Parameters that cannot be built are refused with a ValueError that names the parameter and the range
that works.
"""

from parametric_models.adapters.bracket import Foot, LBracket, UBracket, l_bracket, u_bracket
from parametric_models.adapters.features import Holes, Seat, Window
from parametric_models.adapters.housing import Housing, Waist, housing
from parametric_models.adapters.plate import Plate, Standoffs, plate, standoffs
from parametric_models.adapters.two_piece import TwoPiece, two_piece

__all__ = [
    "Foot",
    "Holes",
    "Housing",
    "LBracket",
    "Plate",
    "Seat",
    "Standoffs",
    "TwoPiece",
    "UBracket",
    "Waist",
    "Window",
    "housing",
    "l_bracket",
    "plate",
    "standoffs",
    "two_piece",
    "u_bracket",
]
