"""Site files drawn at random, the same for the same seed: as an owner far from here might write them."""

from random import Random

ZONES = (
    ("America/Los_Angeles", 37.4, -120.9),
    ("Europe/Berlin", 52.1, 11.6),
    ("Australia/Adelaide", -34.9, 138.6),
    ("Asia/Kathmandu", 27.7, 85.3),
)
MODES = ("", "", *(f'mode = "{mode}"\nmode_since = 2026-07-04' for mode in ("new seed", "new sod", "dormant")))


def made_site(seed):
    """A site of random stations, bans and modes, as its owner would write it, in a zone of its own."""
    random = Random(seed)  # noqa: S311 - the same site for the same seed
    zone, latitude, longitude = ZONES[seed % len(ZONES)]
    stations = "".join(
        f"""
[[station]]
terminal = {terminal}
area = "Rasenfläche {terminal}"
head = "{random.choice(["spray", "rotor", "multi-stream"])}"
turf = "{random.choice(["cool-season", "warm-season"])}"
soil = "{random.choice(["sand", "loam", "clay loam", "sandy clay"])}"
size = "{random.randint(30, 400)} m2"
slope = "{random.randint(0, 15)} %"
priority = {random.randint(1, 3)}
{random.choice(MODES)}
"""
        for terminal in random.sample(range(1, 40), 8)
    )
    return f"""
name = "Möwengrün {seed}"
units = "{random.choice(["us", "metric"])}"

[place]
latitude = {latitude}
longitude = {longitude}
elevation = "120 m"
time_zone = "{zone}"

[watering]
opens = "21:30"
closes = "05:00"
water_days = {random.sample(["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"], random.randint(2, 5))}
max_valves = {random.randint(1, 3)}
valve_delay = {random.randint(0, 2)}

[new_turf]
opens = "09:00"
closes = "16:00"
permit = "permit for new lawns"

[[restriction]]
first = 2026-07-15
last = 2026-07-31
reason = "water district"
cut = "15 %"

[[ban]]
first = 2026-07-16
last = 2026-07-16
reason = "garden party"
{stations}"""
