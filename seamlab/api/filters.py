"""By what lists of this wing can be narrowed."""

from django_filters import rest_framework as filters


class ClothFilter(filters.FilterSet):
    structure = filters.CharFilter(help_text="woven or knit")
    direction = filters.CharFilter()
    kind = filters.CharFilter(help_text="A kind of the table cloth-kinds.")


class BoltFilter(filters.FilterSet):
    cloth = filters.UUIDFilter(field_name="cloth_id")
    dye_lot = filters.CharFilter()


class RecipeFilter(filters.FilterSet):
    purpose = filters.CharFilter()
    structure = filters.CharFilter(help_text="woven or knit")
    seam_class = filters.CharFilter(help_text="ISO 4916, 1 to 8")


class TrialFilter(filters.FilterSet):
    cloth = filters.UUIDFilter(field_name="cloth_id")
    recipe = filters.UUIDFilter(field_name="version__recipe_id")
    version = filters.UUIDFilter(field_name="version_id")
    verdict = filters.CharFilter(help_text="passes, fails or look_again")
