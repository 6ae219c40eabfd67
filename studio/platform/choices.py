"""Choices that every wing offers in the same words."""

LANGUAGES = [("en", "English"), ("de", "Deutsch")]  # what a client can be written to in
UNITS = [("cm", "centimetres"), ("in", "inches with eighths")]
