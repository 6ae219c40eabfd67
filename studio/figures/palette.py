"""The house's colours and type for drawings.

A drawing is used on a page and in a PDF, and the page's custom properties do not reach the PDF, so every
figure states its colours outright. The values are those of ``static/platform/css/tokens.css`` (a test holds
them equal).
"""

PAPER = "#f3f0e8"
SHEET = "#fdfcf8"
SHADE = "#e8e3d6"
RULE = "#cbc3b1"
EDGE = "#7d7563"
INK = "#17352f"
INK_SOFT = "#4a5f58"
THREAD = "#a3234e"
THREAD_PALE = "#f3dfe3"
GOOD = "#1d6144"
GOOD_PALE = "#dcebdf"
CARE = "#6b4e00"
CARE_PALE = "#f5e9c4"
STOP = "#8a2b0a"
STOP_PALE = "#f9e2d5"

FONT = "Liberation Sans, Arial, Helvetica, DejaVu Sans, sans-serif"
