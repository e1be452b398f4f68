"""What stands on every emergency sheet, whatever else is known. Common practice, no source."""

NO_SUBSTITUTE = (
    "This sheet is no substitute for the emergency services, a physician or any licensed person, "
    "and nothing on it is medical advice."
)


def sheet_cautions(*, local_emergency_number: str) -> tuple[str, ...]:
    """The cautions in the order in which they are read."""
    number = f" ({local_emergency_number or 'not entered here'})"
    return (
        f"Call the local emergency number first{number}. Say where you are before anything else: "
        "read out the coordinates or the road address below.",
        "Do what the dispatcher says; stay on the line until they end the call.",
        "Make the place safe for helpers before you help: unload weapons, and climb to nobody in "
        "a stand without being secured yourself.",
        "Send somebody to the road or gate to meet the ambulance.",
        NO_SUBSTITUTE,
        "It shows what was entered, on the date below. Phones, roads and gates change: check it "
        "before the season, and print it: there may be no signal.",
    )
