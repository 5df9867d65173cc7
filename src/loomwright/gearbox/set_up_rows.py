"""What is done at each step of a gearbox's set-up, as words: title, caution, what is done, what must be seen.

`{...}` stands for a figure of the box at hand, which `procedure` puts in: positions, unplugged, ratios, inhibit, stall.

Source: common practice, no source; the maker's manual goes before every figure.
"""

from __future__ import annotations

__all__ = ["ROWS"]

ROWS: tuple[tuple[str, str, str, str], ...] = (
    (
        "Coils and plug",
        "Key off. No lamp, test or series, into the controller's plug.",
        "Measure every coil cold at the loom's end of the gearbox plug; again hot later.",
        (
            "Gear solenoids as the manual says, on/off types 10 to 30 Ω, pressure and lock-up types 3 to 6 Ω "
            "typical; none to earth."
        ),
    ),
    (
        "Selector adjustment",
        "Key off, handbrake on, chocks at two wheels. Nobody under the car.",
        ("Lever through P R N {positions}, slowly; read the range switch at every position and half-way between."),
        (
            "The code of each position alone in its detent, starter in P and N only, reverse lamps in R only, no "
            "gap code at rest."
        ),
    ),
    (
        "Starter inhibit proved",
        (
            "Ignition coils unplugged by their connector, injection off. A driver seated, foot brake on, nobody "
            "in front or behind."
        ),
        "Try the starter in every position.",
        "It turns in P and N, in no other. A bypassed inhibit carries a tag and blocks the handover.",
    ),
    (
        "Fluid, first fill",
        (
            "It engages here for the first time: chocks at all wheels, handbrake on, a driver seated, nobody in front, "
            "behind or under it. Fluid of a running box burns. Level by a firm floor, never by a jack."
        ),
        ("Fill to the cold mark, start, foot brake on, lever through every position, five seconds each; top up."),
        "Level at the manual's mark at the manual's temperature, red or amber, no froth, no leak.",
    ),
    (
        "First engagement",
        ("Chocks at all wheels, handbrake and foot brake on, a driver seated, nobody in front or behind. Doors shut."),
        "At idle, N to D, N to R, three times each.",
        "It engages within about 1.5 s, without a bang, idle is held; the lever says what the box does.",
    ),
    (
        "Line pressure",
        (
            "Chocks at all wheels, handbrake and foot brake on, a driver seated, nobody in front, behind or under it: "
            "the gauge is read from beside. Its hose clear of hot and turning parts, out of the fan's plane."
        ),
        "Gauge on the tapping: idle in P D R; then the pressure solenoid unplugged for a moment.",
        "The manual's figures; with it unplugged full pressure, never less.",
    ),
    (
        "Wheels clear",
        (
            "Driven wheels off the ground on stands, others chocked; nobody beside the wheels. No pedal to the "
            "floor: a free wheel turns twice as fast."
        ),
        "Each gear held by the controller in turn; compare engine speed and output speed.",
        "Engine over output speed: {ratios}, within 3 % with little load.",
    ),
    (
        "Loom unplugged",
        "Wheels still clear, idle only, nobody beside the wheels.",
        "Key off, gearbox plug off, start, D.",
        "It is in {unplugged}; the owner is told so.",
    ),
    (
        "Reverse inhibit",
        "Wheels still clear, idle only.",
        "D at idle, let the wheels turn above {inhibit} km/h, lever to R.",
        "Reverse stays out until the wheels have all but stopped.",
    ),
    (
        "Brakes before rolling",
        "Servo and brake lamps proved before it moves.",
        "Engine running, foot brake: the servo helps; lamps light; then walking speed in the yard.",
        "It stops straight, the lamps light, the lever is in P by the driver only.",
    ),
    (
        "Stall test",
        (
            "Five seconds at most, then a minute in N at 1000 1/min. Fluid hot, all wheels chocked, both brakes "
            "on, a driver seated, nobody in front or behind. Not where the maker forbids it."
        ),
        "Foot brake hard, D, full pedal; read the engine speed. The same in R.",
        (
            "The manual's stall speed ({stall}): far above is a slipping clutch or low pressure, far below a weak "
            "engine or its converter."
        ),
    ),
    (
        "Adaptation drive",
        (
            "Two people: one drives, one watches the log; lawful speeds on a quiet road, never the driver alone "
            "with a screen."
        ),
        (
            "Fluid at 60 to 90 °C. Light pedal through all gears ten times, half pedal five, stops by coasting; "
            "then a hill, then one kick-down."
        ),
        (
            "Changes in 0.3 to 0.6 s without flare or bang, no change undone, lock-up not below the fluid's and "
            "coolant's least temperature (18 and 60 °C in one published case), fluid under the hot mode."
        ),
    ),
    (
        "Fluid, last check",
        "Exhaust and box are hot.",
        "Level again at the manual's temperature; coils again, hot.",
        "At the mark, not burnt; coils as the manual says. Lines written out and kept with the job.",
    ),
)
"""The steps in order."""
