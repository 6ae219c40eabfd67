"""A browser in plain words, from what it says of itself: for people to recognise their own, nothing hangs on it."""

BROWSERS = (
    ("Edg", "Edge"), ("OPR/", "Opera"), ("SamsungBrowser", "Samsung Internet"), ("Firefox", "Firefox"),
    ("FxiOS", "Firefox"), ("CriOS", "Chrome"), ("Chrom", "Chrome"), ("Safari", "Safari"),
)  # fmt: skip
SYSTEMS = (
    ("iPad", "an iPad"), ("iPhone", "an iPhone"), ("Android", "Android"), ("CrOS", "a Chromebook"),
    ("Windows", "Windows"), ("Macintosh", "a Mac"), ("Linux", "Linux"),
)  # fmt: skip


def browser_words(told: str) -> str:
    """ "Firefox on Windows"; what is not recognised is left out."""
    browser = next((words for sign, words in BROWSERS if sign in told), "A browser")
    system = next((words for sign, words in SYSTEMS if sign in told), "")
    return f"{browser} on {system}" if system else browser
