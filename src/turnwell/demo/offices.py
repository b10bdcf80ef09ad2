"""The invented offices: what stands in them, what they do wrong, when they were taught.

Days count back from the demo's present. Three offices are told in full for the last year, with
recordings and sterilizers; what the others had done stands in the book as job cards have it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

__all__ = ["OFFICES", "OPENED_DAYS_AGO", "Call", "OfficeStory", "story_of"]

# Since when the shop keeps its book.
OPENED_DAYS_AGO = 1100


@dataclass(frozen=True, slots=True)
class Call:
    """One visit of the technician: how many days ago, why, whether it was to teach."""

    days_ago: int
    why: str
    was_training: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class OfficeStory:
    """One office and its truth.

    Parameters
    ----------
    name, time_zone : str
    altitude_m : float
    chairs : int
    models : tuple of int
        How many handpieces of each of the shop's models.
    is_told_in_full : bool
        True where its last year has recordings, findings and gauges.
    returns_a_year : float
        Of one turbine of usual frailty, without habit, about.
    habit : mapping of cause key to float
        How many times likelier the office's care makes a cause, until it is taught.
    habit_returns : float
        By which factor more comes back until it is taught.
    spell_days_ago : (int, int)
        A bad spell, from and to: more comes back for a while by mere chance; nothing is behind it.
    calls : tuple of Call
    left_days_ago : int
        Since when it is off the round; 0 where it is on it.
    has_yearly_service : bool
        True where handpieces come in for planned service.
    """

    name: str
    time_zone: str
    altitude_m: float
    chairs: int
    models: tuple[int, ...]
    is_told_in_full: bool = False
    returns_a_year: float = 0.8
    habit: Mapping[str, float] = field(default_factory=dict)
    habit_returns: float = 1.0
    spell_days_ago: tuple[int, int] = (0, 0)
    calls: tuple[Call, ...] = ()
    left_days_ago: int = 0
    has_yearly_service: bool = False

    @property
    def trained_days_ago(self) -> int | None:
        """How many days ago it was taught; None where it was not."""
        return next((call.days_ago for call in self.calls if call.was_training), None)

    def is_trained(self, days_ago: float) -> bool:
        """Say whether it had been taught by then."""
        trained = self.trained_days_ago
        return trained is not None and days_ago < trained


OFFICES = (
    OfficeStory(
        name="Tolvane Dental",
        time_zone="America/Denver",
        altitude_m=1609.0,
        chairs=4,
        models=(5, 2, 1, 2, 1, 1),
        is_told_in_full=True,
        returns_a_year=0.8,
        habit={"moisture_corrosion": 6.0, "chemical_residue": 2.0},
        habit_returns=2.4,
        calls=(
            Call(900, "First call"),
            Call(250, "Six handpieces back in two months"),
            Call(120, "Drying cut short, pouches damp; whole team taught", was_training=True),
        ),
    ),
    OfficeStory(
        name="Brisel Dental",
        time_zone="America/Chicago",
        altitude_m=181.0,
        chairs=3,
        models=(3, 2, 0, 2, 1, 1),
        is_told_in_full=True,
        returns_a_year=0.8,
        habit={"too_little_lubricant": 3.0, "debris_baked_in": 3.0},
        habit_returns=2.4,
        calls=(
            Call(200, "First call: care routine watched"),
            Call(45, "Oil and purge taught at the sink", was_training=True),
        ),
    ),
    OfficeStory(
        name="Ondrum Dental",
        time_zone="America/Chicago",
        altitude_m=190.0,
        chairs=2,
        models=(2, 2, 1, 2, 1, 1),
        is_told_in_full=True,
        returns_a_year=0.8,
        habit={"worn_out": 2.0},
        calls=(Call(880, "First call"), Call(525, "Yearly call"), Call(160, "Yearly call")),
    ),
    OfficeStory(
        name="Veldrin Dental",
        time_zone="America/Denver",
        altitude_m=1490.0,
        chairs=5,
        models=(7, 3, 1, 2, 1, 0),
        returns_a_year=0.9,
        habit={"too_little_lubricant": 9.0, "debris_baked_in": 2.0},
        habit_returns=2.8,
        calls=(
            Call(1010, "First call"),
            Call(560, "Nobody lubricates; the whole team taught, a list put up", was_training=True),
            Call(190, "Yearly call: the list is kept"),
        ),
    ),
    OfficeStory(
        name="Haspwick Dental",
        time_zone="America/Chicago",
        altitude_m=205.0,
        chairs=4,
        models=(6, 2, 1, 2, 1, 1),
        returns_a_year=0.9,
        spell_days_ago=(545, 430),
        calls=(
            Call(960, "First call"),
            Call(
                425,
                "Many back in four months; care routine gone through with the team",
                was_training=True,
            ),
        ),
    ),
    OfficeStory(
        name="Ummerby Dental",
        time_zone="America/Chicago",
        altitude_m=310.0,
        chairs=3,
        models=(5, 2, 1, 2, 1, 0),
        returns_a_year=0.5,
        calls=(Call(1000, "First call"), Call(400, "Yearly call")),
        has_yearly_service=True,
    ),
    OfficeStory(
        name="Pirram Dental",
        time_zone="America/Denver",
        altitude_m=2010.0,
        chairs=1,
        models=(2, 0, 0, 1, 0, 0),
        returns_a_year=0.6,
        calls=(Call(310, "First call: one chair, one person"),),
    ),
    OfficeStory(
        name="Oskeld Dental",
        time_zone="America/Denver",
        altitude_m=1580.0,
        chairs=3,
        models=(4, 1, 0, 1, 1, 0),
        calls=(Call(1090, "First call"),),
        left_days_ago=380,
    ),
)
_BY_NAME = {story.name: story for story in OFFICES}


def story_of(office_name: str) -> OfficeStory:
    """Give the story of an office of the demo by its name."""
    return _BY_NAME[office_name]
