from fitting.models.garment import (
    AcceptedEase,
    CheckpointAnswer,
    FitNote,
    FittingSession,
    Garment,
    GarmentSeam,
    SignOff,
)
from fitting.models.paper import Closeness, FitPlan, GarmentKind, Pattern, PatternMeasure, PatternSize
from fitting.models.report import FitReport, IssuedReport, ReportLink

__all__ = [
    "AcceptedEase",
    "CheckpointAnswer",
    "Closeness",
    "FitNote",
    "FitPlan",
    "FitReport",
    "FittingSession",
    "Garment",
    "GarmentKind",
    "GarmentSeam",
    "IssuedReport",
    "Pattern",
    "PatternMeasure",
    "PatternSize",
    "ReportLink",
    "SignOff",
]
