"""Choices that every wing offers in the same words."""

UNITS = [("cm", "centimetres"), ("in", "inches with eighths")]
