"""Names of what a room paints and keeps, apart from everything that uses them."""

CHECK, WEIGHT = "room", "room_weight"
"""What stands in the place of a check's id for the room, and for the weight that is left, which what is worn changes.
"""
ROOM, STOPS, LEFT = "room", "room_stops", "room_left"
FIELDS = (
    (ROOM, "How much may be added at each place of the bare skin with every check still passing, mm"),
    (STOPS, "What stops a form at each place of the bare skin, each in a colour of its own"),
    (LEFT, "What strokes leave of the room: how much more may be added, negative where a form is over it, mm"),
)
"""Names of the fields, and words for each."""
