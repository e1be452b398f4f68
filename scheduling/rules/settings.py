"""Settings of the house rules, resolved from cooperative to property to stand."""

from dataclasses import dataclass

from properties.land.settings import check_weekdays, setting

GROUP = "house_rules"


@dataclass(frozen=True, kw_only=True)
class HouseRuleSettings:
    """Every figure the house rules use, with its default."""

    inspection_interval_days: int = setting(
        365,
        unit="d",
        minimum=1,
        maximum=1_100,
        description="A stand is offered for so many days after its last inspection. "
        "Common practice, no source.",
    )
    book_ahead_days: int = setting(
        14,
        unit="d",
        minimum=0,
        maximum=366,
        description="How many days ahead a session may be booked. Common practice, no source.",
    )
    late_booking_minutes: int = setting(
        30,
        unit="min",
        minimum=0,
        maximum=2_880,
        description="Booking ends so long before the session's window opens. "
        "Common practice, no source.",
    )
    weekly_sits: int = setting(
        4,
        minimum=1,
        maximum=14,
        description="Sits a member may hold in one week, Monday to Sunday; an all-day sit "
        "counts once. Common practice, no source.",
    )
    missed_sits_allowed: int = setting(
        0,
        minimum=0,
        maximum=100,
        description="Unexcused missed sits a member may have and still book. "
        "Common practice, no source.",
    )
    missing_reports_allowed: int = setting(
        0,
        minimum=0,
        maximum=100,
        description="Overdue sit reports a member may owe and still book. "
        "Common practice, no source.",
    )
    report_due_hours: int = setting(
        48,
        unit="h",
        minimum=1,
        maximum=720,
        description="A sit's report is owed so long after the sit ended. "
        "Common practice, no source.",
    )
    sit_without_forecast: bool = setting(
        False,
        description="Whether a stand may be taken for a session that no wind forecast "
        "reaches. Common practice, no source.",
    )
    rest_days: int = setting(
        3,
        unit="d",
        minimum=0,
        maximum=60,
        description="A stand is used at most once in any so many days in a row; two sessions "
        "of one day count as two uses, an all-day sit as one. 1 allows one use a day, "
        "0 sets no rest. Common practice, no source.",
    )
    same_wind_cap: int = setting(
        2,
        unit="uses",
        minimum=1,
        maximum=100,
        description="Uses of a stand under one wind sector within the window, past ones and "
        "expected ones together. Common practice, no source.",
    )
    same_wind_excess: int = setting(
        0,
        unit="uses",
        minimum=0,
        maximum=20,
        description="How many uses beyond the same-wind cap a stand tolerates: its cap is soft, "
        "a plan prices what it takes of them and names it. For a stand with few good winds; "
        "0 keeps the cap hard. Common practice, no source.",
    )
    same_wind_window_days: int = setting(
        10,
        unit="d",
        minimum=1,
        maximum=120,
        description="Length of the window in which uses under one wind are counted. "
        "Common practice, no source.",
    )
    hunters_a_session: int = setting(
        0,
        unit="hunters",
        minimum=0,
        maximum=1_000,
        description="Hunters on one property in one session at most; 0 sets no limit. "
        "Common practice, no source.",
    )
    guest_sits_a_host: int = setting(
        0,
        unit="sits",
        minimum=0,
        maximum=1_000,
        description="Sits of guests that one host may bring to a property in a season's year; "
        "young hunters whom the host supervises are not counted; 0 sets no limit. Common "
        "practice, no source.",
    )
    guest_sits_a_property: int = setting(
        0,
        unit="sits",
        minimum=0,
        maximum=10_000,
        description="Sits of guests on a property in a season's year, of all hosts together; "
        "0 sets no limit. Common practice, no source.",
    )
    sits_a_day: int = setting(
        1,
        unit="sits",
        minimum=1,
        maximum=2,
        description="Sits of one member in one day at most; an all-day sit counts as one. "
        "Common practice, no source.",
    )
    gust_limit_mps: float = setting(
        11.0,
        unit="m/s",
        minimum=3,
        maximum=30,
        description="Forecast gust above which elevated stands close. "
        "Common practice, no source; the maker's instructions come first.",
    )
    thunder_chance_limit: float = setting(
        0.3,
        minimum=0,
        maximum=1,
        description="Chance of thunder in the session at or above which stands close. "
        "Common practice, no source.",
    )
    fire_danger_limit: int = setting(
        5,
        minimum=1,
        maximum=6,
        description="Fire danger level (1 low to 5 extreme) from which stands close; "
        "6 never closes. Common practice, no source; local orders come first.",
    )
    flood_margin_m: float = setting(
        0.5,
        unit="m",
        minimum=0,
        maximum=10,
        description="A stand closes when the water is forecast within this margin below "
        "the stage at which its ground or route floods. Common practice, no source.",
    )
    ice_closes_elevated: bool = setting(
        True,
        description="Whether stands that are climbed close while ice is reported on ladders "
        "and steps. Common practice, no source; the maker's instructions come first.",
    )
    uses_a_week: int = setting(
        0,
        minimum=0,
        maximum=1_000,
        description="Uses of stands a property may bear in one week, Monday to Sunday; "
        "0 sets no budget. Common practice, no source.",
    )
    dark_weekdays: tuple[int, ...] = setting(
        (),
        description="Weekdays on which nobody sits on the property, as ISO numbers "
        "(1 Monday to 7 Sunday). Common practice, no source.",
    )
    house_setback_m: float = setting(
        150.0,
        unit="m",
        minimum=0,
        maximum=2_000,
        description="Least distance from a stand to a house or other occupied building. "
        "Common practice, no source; local law comes first.",
    )
    road_setback_m: float = setting(
        50.0,
        unit="m",
        minimum=0,
        maximum=2_000,
        description="Least distance from a stand to a road or public trail. "
        "Common practice, no source; local law comes first.",
    )
    hazard_setback_m: float = setting(
        50.0,
        unit="m",
        minimum=0,
        maximum=2_000,
        description="Least distance from a stand to any other mapped hazard. "
        "Common practice, no source; local law comes first.",
    )
    boundary_setback_m: float = setting(
        30.0,
        unit="m",
        minimum=0,
        maximum=2_000,
        description="Least distance from a stand to the property's boundary. "
        "Common practice, no source; local law comes first.",
    )
    sanctuary_setback_m: float = setting(
        50.0,
        unit="m",
        minimum=0,
        maximum=2_000,
        description="Least distance from a stand to a sanctuary. Common practice, no source.",
    )
    danger_distance_bow_m: float = setting(
        400.0,
        unit="m",
        minimum=50,
        maximum=8_000,
        description="How far a bow or crossbow is taken to endanger people. "
        "Common practice, no source.",
    )
    danger_distance_shotgun_m: float = setting(
        1_200.0,
        unit="m",
        minimum=50,
        maximum=8_000,
        description="How far a shotgun or muzzleloader is taken to endanger people. "
        "Common practice, no source.",
    )
    danger_distance_rifle_m: float = setting(
        3_000.0,
        unit="m",
        minimum=50,
        maximum=8_000,
        description="How far a rifle is taken to endanger people, and any weapon that has "
        "no distance of its own. Common practice, no source.",
    )
    backstop_lifts_danger_arc: bool = setting(
        False,
        description="Whether a recorded backstop in front of a road or hazard lifts the "
        "objection of the danger arc. It never does for a house. Common practice, no source.",
    )

    def __post_init__(self) -> None:
        check_weekdays(f"{GROUP}/dark_weekdays", self.dark_weekdays)
