"""The roles as labels."""

ROLE_WORDS = {
    "base": "Base",
    "appliance": "Appliance",
    "upper_teeth": "Upper Teeth",
    "lower_teeth": "Lower Teeth",
    "hardware": "Hardware",
    "eye_left": "Left Eye",
    "eye_right": "Right Eye",
    "ignore": "Ignore",
}
