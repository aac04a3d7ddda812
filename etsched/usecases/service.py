"""What every use case of the service is handed: where things are kept, what time it is, how weather is asked."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from etsched.frames.weather import Weather
    from etsched.model.site import Site
    from etsched.ports import Clock
    from etsched.settings import Settings
    from etsched.stores.database import Database


@dataclass(frozen=True, slots=True)
class Service:
    """The service as its use cases see it.

    `weather_of` asks the feeds of a site's chain anew; `stop_asking` makes it raise Stopping from now on, in the middle
    of a question too.
    """

    database: Database
    clock: Clock
    weather_of: Callable[[Site], Weather]
    settings: Settings
    stop_asking: Callable[[], None] = lambda: None
