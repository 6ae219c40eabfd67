from seamlab.models.cloth import Cloth, ClothTest
from seamlab.models.recipe import SeamRecipe, SeamRecipeVersion, SeamTrial
from seamlab.models.supplies import Machine, Needle, Thread

__all__ = [
    "Cloth",
    "ClothTest",
    "Machine",
    "Needle",
    "SeamRecipe",
    "SeamRecipeVersion",
    "SeamTrial",
    "Thread",
]
