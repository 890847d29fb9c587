#!/usr/bin/python3
"""The figures of electronics.md, from the parts' properties on.  Prints them.

What the parts must be able to do stands first; everything else follows.  tests/hardware/figures.py
holds the page, the firmware's constants and the simulator's parts to this.
"""
import math

# Mechanics (mechanics.md) and gauges.
RATED_NM = 150.0
OVERLOAD_SHARE = 1.2
STRAIN_RATED = 500.0e-6  # along each gauge, at 45 degrees to the axis
GAUGE_FACTOR = 2.0
ARM_OHM = 1000.0
SHUNT_OHM = 499e3
# Supply and converter.
EXCITATION_V = 5.0
CONVERTER_GAIN = 128
CONVERTER_BITS = 24
CONVERTER_NOISE_V = 80e-9  # rms of one conversion, at most
CONVERSIONS_HZ = 320.0
CONVERSIONS_A_SAMPLE = 4
# Filter: a resistor in each lead, a capacitor across, one from each lead to ground.
LEAD_OHM = 100.0
ACROSS_F = 100e-9
TO_GROUND_F = 10e-9
# Gyro.
GYRO_COUNTS_PER_DPS = 32.768
GYRO_NOISE_DPS_PER_RTHZ = 0.01
GYRO_BIAS_DRIFT_DPS = 0.01  # between two rests
GYRO_SCALE_SHARE = 0.003  # after calibration against a protractor
REST_S = 0.32
TICK_S = 1 / 800
# Use.
STROKES = 5
STROKE_S = 1.0
TURN_DEG = 90.0
HAND_DPS = 90.0
HAND_NM_PER_S = 200.0
WRENCH_DEG_PER_NM = 0.05
HANDLE_M = 0.5
GAUGES_TO_SQUARE_M = 0.025
BENDING_LEFT_SHARE = 0.03  # of the bending, what the bridge does not cancel
SHAFT_M = 21.15e-3
YOUNG_PA = 210e9
WARMED_K = 10.0
SPAN_PER_K = 2e-4
ZERO_PER_K = 2e-4  # of rated
PULL_WARMS_K = 0.2
# Currents in mA: chip, bridge, converter, gyro, lamp, USB bridge.
CURRENTS_MA = (12.0, 5.0, 2.0, 4.0, 10.0, 15.0)

BOLTZMANN_J_PER_K = 1.380649e-23
ROOM_K = 300.0


def signal():
    full_v = EXCITATION_V / 2 / CONVERTER_GAIN
    out_v = GAUGE_FACTOR * STRAIN_RATED * EXCITATION_V
    counts_per_nm = 2 ** (CONVERTER_BITS - 1) * out_v / full_v / RATED_NM
    shunt_v = EXCITATION_V * ARM_OHM / (4 * SHUNT_OHM + 2 * ARM_OHM)
    return {
        "bridge_mV_per_V": GAUGE_FACTOR * STRAIN_RATED * 1e3,
        "bridge_out_mV": out_v * 1e3,
        "converter_range_mV": full_v * 1e3,
        "saturates_Nm": full_v / out_v * RATED_NM,
        "counts_per_Nm": counts_per_nm,
        "count_uNm": 1e6 / counts_per_nm,
        "overload_counts": RATED_NM * OVERLOAD_SHARE * counts_per_nm,
        "shunt_Nm": shunt_v / out_v * RATED_NM,
        "shunt_counts": shunt_v / out_v * RATED_NM * counts_per_nm,
        "arm_mW": (EXCITATION_V / 2) ** 2 / ARM_OHM * 1e3,
        "bridge_mA": EXCITATION_V / ARM_OHM * 1e3,
        "current_mA": sum(CURRENTS_MA),
    }


def noise(found):
    bandwidth_hz = CONVERSIONS_HZ / 2
    arms_v = math.sqrt(4 * BOLTZMANN_J_PER_K * ROOM_K * ARM_OHM * bandwidth_hz)
    both_v = math.hypot(arms_v, CONVERTER_NOISE_V)
    counts = both_v / (found["converter_range_mV"] / 1e3) * 2 ** (CONVERTER_BITS - 1)
    sample_nm = counts / math.sqrt(CONVERSIONS_A_SAMPLE) / found["counts_per_Nm"]
    return {
        "arms_noise_nV": arms_v * 1e9,
        "noise_counts": counts,
        "sample_noise_mNm": sample_nm * 1e3,
        "noise_free_mNm": 6.6 * sample_nm * 1e3,
        "noise_free_steps": 2 * RATED_NM / (6.6 * sample_nm),
    }


def filter_and_delay():
    # The bridge's own resistance, one arm's between its outputs, is in the loop too.
    loop_ohm_f = (2 * LEAD_OHM + ARM_OHM) * (ACROSS_F + TO_GROUND_F / 2)
    delay_s = CONVERSIONS_A_SAMPLE / CONVERSIONS_HZ / 2
    return {
        "filter_kHz": 1 / (2 * math.pi * loop_ohm_f) / 1e3,
        "filter_delay_us": loop_ohm_f * 1e6,
        "delay_ms": delay_s * 1e3,
        "delay_deg": HAND_DPS * delay_s,
        "delay_Nm": HAND_NM_PER_S * delay_s,
    }


def torque_errors():
    side_n = RATED_NM / HANDLE_M
    stress_pa = 32 * side_n * GAUGES_TO_SQUARE_M / (math.pi * SHAFT_M ** 3)
    return {
        "span_warm_percent": WARMED_K * SPAN_PER_K * 100,
        "zero_pull_Nm": PULL_WARMS_K * ZERO_PER_K * RATED_NM,
        "bending_strain_um_per_m": stress_pa / YOUNG_PA * 1e6,
        "bending_percent": BENDING_LEFT_SHARE * stress_pa / YOUNG_PA / STRAIN_RATED * 100,
    }


def angle_errors():
    turning_s = STROKES * STROKE_S
    part = {
        "angle_noise_deg": GYRO_NOISE_DPS_PER_RTHZ * math.sqrt(turning_s / 2),
        "angle_bias_deg": GYRO_NOISE_DPS_PER_RTHZ / math.sqrt(2 * REST_S) * turning_s,
        "angle_drift_deg": GYRO_BIAS_DRIFT_DPS * turning_s,
        "angle_scale_deg": GYRO_SCALE_SHARE * TURN_DEG,
        "angle_threshold_deg": STROKES * WRENCH_DEG_PER_NM * RATED_NM * OVERLOAD_SHARE
                               * (1 / 128 - 1 / 256),
        "angle_pairing_deg": HAND_DPS * TICK_S / 2,
    }
    part["angle_total_deg"] = math.sqrt(sum(value ** 2 for value in part.values()))
    return part


def figures():
    found = signal()
    for more in (noise(found), filter_and_delay(), torque_errors(), angle_errors()):
        found.update(more)
    return found


if __name__ == "__main__":
    for name, value in figures().items():
        print(f"{name:24} {value:.6g}")
