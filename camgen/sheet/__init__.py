"""The setup sheet: one self-contained page to print and take to the machine."""

from camgen.sheet.data import (
    CutterLine,
    DividingLine,
    Instructions,
    Measure,
    MetalRows,
    ProgramLine,
    SetupSheet,
    SheetData,
    StepLine,
)
from camgen.sheet.page import sheet_html

__all__ = [
    "CutterLine",
    "DividingLine",
    "Instructions",
    "Measure",
    "MetalRows",
    "ProgramLine",
    "SetupSheet",
    "SheetData",
    "StepLine",
    "sheet_html",
]
