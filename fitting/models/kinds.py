"""What patterns, garments and ease rules are sorted by."""

from django.db import models


class GarmentKind(models.TextChoices):
    SKIRT = "skirt", "Skirt"
    TROUSERS = "trousers", "Trousers"
    BODICE = "bodice", "Bodice"
    DRESS = "dress", "Dress"
    SHIRT = "shirt", "Shirt"
    JACKET = "jacket", "Jacket"
    TSHIRT = "tshirt", "T-shirt"


class Closeness(models.TextChoices):
    CLOSE = "close", "Close"
    FITTED = "fitted", "Fitted"
    SEMI_FITTED = "semi_fitted", "Semi-fitted"
    LOOSE = "loose", "Loose"
