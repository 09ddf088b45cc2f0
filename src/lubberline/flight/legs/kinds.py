"""The keys of a legs file as structs: name, unit, default and range."""

from datetime import datetime
from typing import Annotated, ClassVar, Literal

from msgspec import Meta, Struct

Altitude = Annotated[
    float, Meta(ge=-1500.0, le=60000.0, description="feet above mean sea level, -1500 to 60000")
]
Heading = Annotated[float, Meta(ge=0.0, le=360.0, description="degrees from 0 to 360")]
Airspeed = Annotated[float, Meta(ge=0.0, le=700.0, description="knots, 0 to 700")]
SpeedLimit = Annotated[float, Meta(ge=10.0, le=700.0, description="knots, 10 to 700")]
Minutes = Annotated[float, Meta(ge=0.01, le=1440.0, description="minutes, 0.01 to 1440")]
Seconds = Annotated[float, Meta(ge=0.1, le=86400.0, description="seconds, 0.1 to 86400")]
RollRate = Annotated[float, Meta(ge=1.0, le=200.0, description="degrees a second, 1 to 200")]
Yes = Annotated[bool, Meta(description="true or false, without quotes")]
Words = Annotated[str, Meta(max_length=200, description="words in quotes, at most 200 characters")]


class Head(Struct, forbid_unknown_fields=True, frozen=True, kw_only=True):
    """The top of a legs file: where, when and how the flight begins, the air and the limits."""

    title: Words = ""
    start_utc: Annotated[
        datetime,
        Meta(tz=True, description="a date and time with its zone, as 2026-06-21T09:00:00Z, without quotes"),
    ]
    latitude_deg: Annotated[
        float, Meta(ge=-89.9, le=89.9, description="degrees from -89.9 to 89.9, north positive")
    ]
    longitude_deg: Annotated[
        float, Meta(ge=-180.0, le=180.0, description="degrees from -180 to 180, east positive")
    ]
    altitude_ft: Altitude
    heading_deg: Heading
    airspeed_kt: Airspeed
    wind_from_deg: Heading | None = None
    wind_kt: Annotated[float, Meta(ge=0.0, le=200.0, description="knots, 0 to 200")] | None = None
    seed: Annotated[
        int,
        Meta(
            ge=0,
            le=2**32 - 1,
            description="a whole number from 0 to 4294967295",
        ),
    ] = 0
    stall_kt: SpeedLimit = 48.0
    limit_kt: SpeedLimit = 200.0
    greatest_bank_deg: Annotated[
        float,
        Meta(
            ge=5.0,
            le=80.0,
            description="degrees, 5 to 80",
        ),
    ] = 60.0


class Leg(Struct, forbid_unknown_fields=True, frozen=True, kw_only=True):
    """Common to all legs: which keys exclude each other."""

    exactly_one: ClassVar[tuple[tuple[str, ...], ...]] = ()
    at_most_one: ClassVar[tuple[tuple[str, ...], ...]] = ()


class Flown(Leg, frozen=True, kw_only=True):
    """A leg that takes time."""

    engine_rpm: Annotated[float, Meta(ge=0.0, le=10000.0, description="rpm, 0 to 10000")] | None = None


class Straight(Flown, frozen=True, kw_only=True):
    """Hold the true heading, in the air or taxiing."""

    exactly_one = (("minutes", "seconds", "distance_nm"),)
    minutes: Minutes | None = None
    seconds: Seconds | None = None
    distance_nm: (
        Annotated[
            float,
            Meta(
                ge=0.01,
                le=10000.0,
                description="nautical miles, 0.01 to 10000",
            ),
        ]
        | None
    ) = None
    on_ground: Yes | None = None


class Turn(Flown, frozen=True, kw_only=True):
    """Turn to a heading or by an angle, at a bank or a rate."""

    exactly_one = (("to_deg", "by_deg"),)
    at_most_one = (("bank_deg", "rate_deg_s"), ("by_deg", "direction"))
    to_deg: Heading | None = None
    by_deg: (
        Annotated[
            float,
            Meta(
                ge=-36000.0,
                le=36000.0,
                description="degrees, right positive, -36000 to 36000",
            ),
        ]
        | None
    ) = None
    direction: Literal["left", "right", "shortest"] | None = None
    bank_deg: (
        Annotated[
            float,
            Meta(
                ge=1.0,
                le=80.0,
                description="degrees, always positive, 1 to 80",
            ),
        ]
        | None
    ) = None
    rate_deg_s: (
        Annotated[
            float,
            Meta(
                ge=0.1,
                le=90.0,
                description="degrees a second, 0.1 to 90",
            ),
        ]
        | None
    ) = None
    roll_rate_deg_s: RollRate = 10.0
    on_ground: Yes | None = None


class Climb(Flown, frozen=True, kw_only=True):
    """Climb to an altitude at a rate."""

    to_altitude_ft: Altitude
    rate_fpm: Annotated[
        float, Meta(ge=10.0, le=6000.0, description="feet a minute, always positive, 10 to 6000")
    ] = 500.0


class Descend(Climb, frozen=True, kw_only=True):
    """Descend to an altitude at a rate."""


class Accelerate(Flown, frozen=True, kw_only=True):
    """Change the airspeed, up or down; from standing still it is the take-off run."""

    at_most_one = (("at_g", "kt_s"),)
    to_kt: Airspeed
    at_g: (
        Annotated[
            float,
            Meta(
                ge=0.005,
                le=2.0,
                description="g, always positive, 0.005 to 2",
            ),
        ]
        | None
    ) = None
    kt_s: (
        Annotated[
            float,
            Meta(
                ge=0.1,
                le=40.0,
                description="knots a second, always positive, 0.1 to 40",
            ),
        ]
        | None
    ) = None
    on_ground: Yes | None = None


class Wait(Flown, frozen=True, kw_only=True):
    """Stand still on the ground with the engine running."""

    exactly_one = (("minutes", "seconds"),)
    minutes: Minutes | None = None
    seconds: Seconds | None = None


class Upset(Flown, frozen=True, kw_only=True):
    """An unusual attitude: roll or pitch away from level, hold, and come back."""

    exactly_one = (("bank_deg", "pitch_deg"),)
    bank_deg: (
        Annotated[
            float,
            Meta(
                ge=-180.0,
                le=180.0,
                description="degrees, right positive, -180 to 180",
            ),
        ]
        | None
    ) = None
    pitch_deg: (
        Annotated[
            float,
            Meta(
                ge=-89.0,
                le=89.0,
                description="degrees, nose up positive, -89 to 89",
            ),
        ]
        | None
    ) = None
    rate_deg_s: RollRate = 30.0
    hold_seconds: Annotated[float, Meta(ge=0.0, le=600.0, description="seconds, 0 to 600")] = 2.0


class Rough(Leg, frozen=True, kw_only=True):
    """Rough air from here on."""

    exactly_one = (("level", "bank_sd_deg"),)
    level: Literal["off", "light", "moderate", "severe"] | None = None
    bank_sd_deg: (
        Annotated[
            float,
            Meta(
                ge=0.1,
                le=20.0,
                description="degrees, 0.1 to 20",
            ),
        ]
        | None
    ) = None


class Moment(Leg, frozen=True, kw_only=True):
    """An action now, or some seconds after this point of the flight."""

    after_seconds: Annotated[
        float,
        Meta(
            ge=0.0,
            le=86400.0,
            description="seconds, 0 to 86400",
        ),
    ] = 0.0


class Set(Moment, frozen=True, kw_only=True, rename={"from_": "from"}):
    """Set the heading indicator."""

    from_: Literal["compass", "truth"] | None = None
    misreading_deg: Annotated[
        float,
        Meta(
            ge=-180.0,
            le=180.0,
            description="degrees, -180 to 180",
        ),
    ] = 0.0


class Fault(Moment, frozen=True, kw_only=True):
    """A fault of the aircraft begins or changes its size."""

    name: Words
    size: Annotated[float, Meta(ge=0.0, le=1e6, description="a number of 0 or more")] | None = None


class Cage(Moment, frozen=True, kw_only=True):
    """Cage the heading indicator."""


class Uncage(Moment, frozen=True, kw_only=True):
    """Uncage the heading indicator."""


KINDS: dict[str, type[Leg]] = {
    "straight": Straight,
    "turn": Turn,
    "climb": Climb,
    "descend": Descend,
    "accelerate": Accelerate,
    "wait": Wait,
    "upset": Upset,
    "rough": Rough,
    "set": Set,
    "fault": Fault,
    "cage": Cage,
    "uncage": Uncage,
}
