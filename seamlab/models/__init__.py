from seamlab.models.bolt import Bolt, BoltRecord
from seamlab.models.cloth import Cloth, ClothPhoto, ClothTest, LabFigure
from seamlab.models.comparison import ComparisonConclusion, ComparisonSample, SeamComparison
from seamlab.models.recipe import SeamRecipe, SeamRecipeVersion, SeamTrial, TrialPhoto, TrialWithdrawal
from seamlab.models.supplies import Machine, MachineService, Needle, Thread

__all__ = [
    "Bolt",
    "BoltRecord",
    "Cloth",
    "ClothPhoto",
    "ClothTest",
    "ComparisonConclusion",
    "ComparisonSample",
    "LabFigure",
    "Machine",
    "MachineService",
    "Needle",
    "SeamComparison",
    "SeamRecipe",
    "SeamRecipeVersion",
    "SeamTrial",
    "Thread",
    "TrialPhoto",
    "TrialWithdrawal",
]
