"""The demo captures: what is fitted, where the probe sits, how the scope is set, how it exports."""

from dataclasses import dataclass

# Green, red, blue of two pixels: runs of ones, runs of zeros, and alternating bits.
PIXELS = ((0x10, 0xFF, 0x4C), (0xA5, 0x03, 0x80))

# High and low of a 0, high and low of a 1, in ns. The controller's clock is 0.3 % slow, so that its bits drift through the
# scope's sampling grid.
TWELVE_VOLT_TIMING = (300.9, 952.9, 902.7, 351.1)    # 300/950 and 900/350 ns, in use for 12 V pixels
OTHER_CHIP_TIMING = (401.2, 852.6, 802.4, 451.4)     # 400/850 and 800/450 ns, meant for another pixel chip


@dataclass(frozen=True)
class Case:
    name: str
    seed: int
    series_ohm: float
    export: str
    probe: str = "far"               # near, far, both; "driver pin": a logic input before the resistor, no load
    rate_hz: float = 250e6
    frames: int = 3
    pixels: int = 2
    driver_ohm: float = 17.0
    drive_v: float = 5.0
    edge_s: float = 6e-9             # 0 to 100 %
    timing_ns: tuple = TWELVE_VOLT_TIMING
    gap_s: float = 302e-6
    jitter_s: float = 0.5e-9
    probe_f: float = 11e-12
    lead_h: float = 15e-9            # short ground spring
    bandwidth_hz: float = 100e6
    noise_v: float = 0.022
    step_v: float = 0.04             # 8 bits, 1 V a division, 25 codes a division
    centre_v: float = 2.56
    before_s: float = 12e-6
    after_s: float = 9e-6


CASES = (
    Case("far-220ohm.csv", 2201, 220, "values_below_preamble"),
    Case("far-68ohm.csv", 681, 68, "values_below_preamble"),
    Case("near-220ohm.csv", 2202, 220, "values_below_preamble", probe="near"),
    Case("far-0ohm.csv", 1, 0, "index_with_start_and_step", rate_hz=125e6, frames=2),
    Case("far-3v3.csv", 33, 47, "semicolon_units_in_names", driver_ohm=35, drive_v=3.3, rate_hz=100e6, frames=2),
    Case("far-undersampled.csv", 8, 68, "decimal_comma", rate_hz=8e6),
    Case("probe-ground-lead.csv", 150, 68, "values_below_preamble", edge_s=2.5e-9, lead_h=300e-9, probe_f=8e-12, bandwidth_hz=350e6,
         rate_hz=500e6, frames=2, pixels=1),
    Case("logic-near.csv", 24, 68, "logic_changes", probe="driver pin", rate_hz=100e6, timing_ns=OTHER_CHIP_TIMING,
         bandwidth_hz=200e6, edge_s=4e-9),
    Case("far-68ohm.wav", 682, 68, "wav_placeholder_rate"),
    Case("both-ends-220ohm.csv", 2203, 220, "two_channel_values", probe="both", rate_hz=125e6),
    Case("unchanged-before.csv", 1001, 100, "rounded_time_and_interval", rate_hz=125e6, frames=2),
    Case("unchanged-after.csv", 1002, 100, "rounded_time_and_interval", rate_hz=125e6, frames=2),
    Case("worse-before.csv", 683, 68, "tab_units_in_parentheses", rate_hz=125e6, frames=2),
    Case("worse-after.csv", 470, 470, "tab_units_in_parentheses", rate_hz=125e6, frames=2),
)
