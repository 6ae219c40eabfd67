from fitting.models.appointment import Appointment, CalendarFeed
from fitting.models.charts import BodyChart, ChartMeasure, ChartSize, OwnEaseRule, OwnEaseSet
from fitting.models.garment import (
    AcceptedEase,
    CheckpointAnswer,
    ClientAgreement,
    FitNote,
    FitPhoto,
    FittingSession,
    Garment,
    GarmentSeam,
    SignOff,
)
from fitting.models.kinds import Closeness, GarmentKind
from fitting.models.lay import GrainChange, GrainCheck, LayDrawing, LayLine, LayPlan, LaySheet, Remnant
from fitting.models.outline import OutlineFile, PieceOutline
from fitting.models.paper import (
    FitPlan,
    FlatMeasure,
    Pattern,
    PatternMeasure,
    PatternPiece,
    PatternSize,
)
from fitting.models.plan_acts import CuttingSheet, PlanOverrule, PlanTick
from fitting.models.report import FitReport, IssuedReport, ReportLink
from fitting.models.ticket import (
    Counter,
    Price,
    Ticket,
    TicketEvent,
    TicketJob,
    TicketPayment,
    TicketSlip,
)

__all__ = [
    "AcceptedEase",
    "Appointment",
    "BodyChart",
    "CalendarFeed",
    "ChartMeasure",
    "ChartSize",
    "CheckpointAnswer",
    "ClientAgreement",
    "Closeness",
    "Counter",
    "CuttingSheet",
    "FitNote",
    "FitPhoto",
    "FitPlan",
    "FitReport",
    "FittingSession",
    "FlatMeasure",
    "Garment",
    "GarmentKind",
    "GarmentSeam",
    "GrainChange",
    "GrainCheck",
    "IssuedReport",
    "LayDrawing",
    "LayLine",
    "LayPlan",
    "LaySheet",
    "OutlineFile",
    "OwnEaseRule",
    "OwnEaseSet",
    "Pattern",
    "PatternMeasure",
    "PatternPiece",
    "PatternSize",
    "PieceOutline",
    "PlanOverrule",
    "PlanTick",
    "Price",
    "Remnant",
    "ReportLink",
    "SignOff",
    "Ticket",
    "TicketEvent",
    "TicketJob",
    "TicketPayment",
    "TicketSlip",
]
