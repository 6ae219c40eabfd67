"""What is told of a row that can't be taken over. No sentence names a person: they outlive her erasure."""

SENTENCES = {
    "other_name": "The id belongs to a client of another name.",
    "unknown_id": "No client of this studio has this id, and a name with a birthday or a telephone is not given.",
    "several": "More than one client bears this name with this birthday or telephone. Give the id.",
    "too_little": "A name alone can mean two people. Give the birthday or the telephone beside it.",
    "perhaps": (
        "A client of this name is here, but birthday or telephone differ or are not recorded. Record them with the "
        "client, or give in the file what is recorded."
    ),
    "perhaps_new": (
        "The file has this new client's name elsewhere with other facts beside it. Write the same birthday and "
        "telephone in all her rows."
    ),
    "unknown": "No client here has this name with this birthday or telephone.",
    "no_consent": "This client has not consented to being measured. Record the consent first.",
    "withdrawn": "This client has withdrawn the consent to being measured.",
    "not_by_guardian": "This client is under 18, and the consent is not a guardian's. Record the guardian's first.",
    "new_without_guardian": "This new client is under 18: name the guardian.",
    "before_birth": "On that day the client was not born yet. Check the date, or the birthday.",
    "nobody_present": "The client was under 18 on that day: say which guardian was present.",
    "two_facts": "Rows of the same measuring say different things here.",
    "take_twice": (
        "This take stands in the file before with another value. If it was taken once more, number the takes."
    ),
    "other_value": (
        "Another value is kept for this client, moment, measure and take. Correct it on the page of the measuring, "
        "or give the moment that is meant."
    ),
    "number_twice": "This number stands for another reading already.",
    "superseded_twice": "The reading that is superseded here is superseded by another row already.",
    "other_place": "A correction belongs to the same client, moment, measure and take as what it supersedes.",
    "other_correction": "The reading that is superseded here is corrected already, by another value.",
    "no_such_reading": (
        "The reading that is superseded here is not in the file, or the corrections go round in a circle."
    ),
    "take_missing": "The takes of this measure are not complete: one before it is missing.",
    "too_many": "This measuring has more than 300 readings.",
}
