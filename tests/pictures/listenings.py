"""Documents of what was listened to, as the tests need them: exact curves, known phases."""

from math import exp, pi, sin, tan

__all__ = ["PARTS", "a_coast_down", "a_full_listening", "a_listening", "some_orders"]


def a_listening(
    top_rpm=400_000.0,
    *,
    start_s=0.5,
    run_up_s=2.0,
    steady_s=4.0,
    coast_s=3.0,
    step_s=0.01,
    pause=None,
    limit=(360_000.0, 440_000.0),
):
    """Give a run that rises, holds and falls; `pause` leaves a stretch of the track out."""
    release_s = start_s + run_up_s + steady_s
    stop_s = release_s + coast_s
    times, speeds = [], []
    for count in range(int((stop_s - start_s) / step_s)):
        time_s = start_s + count * step_s
        if pause and pause[0] < time_s < pause[1]:
            continue
        if time_s < release_s:
            speed = top_rpm * (1.0 - exp(-5.0 * (time_s - start_s) / run_up_s))
        else:
            speed = top_rpm * (1.0 - (time_s - release_s) / coast_s)
        times.append(time_s)
        speeds.append(speed)
    kinds = (
        ("silent", 0.0, start_s),
        ("run-up", start_s, start_s + run_up_s),
        ("steady", start_s + run_up_s, release_s),
        ("coast-down", release_s, stop_s),
    )
    return {
        "schema": "turnwell.listen/2",
        "segments": [{"kind": k, "start_s": a, "stop_s": b} for k, a, b in kinds],
        "readings": [
            {
                "key": "free_running_speed",
                "value": top_rpm,
                "low": top_rpm - 400.0,
                "high": top_rpm + 400.0,
                "limit": limit
                and {"low": limit[0], "high": limit[1], "source": "label", "basis": "own"},
            }
        ],
        "track": {"time_s": times, "speed_rpm": speeds, "sd_rpm": [100.0] * len(times)},
    }


def a_coast_down(free_rpm=400_000.0, coast_s=3.0, *, heard_to=0.02, law=True, points=120):
    """Give one coast-down under constant and quadratic drag, heard down to a share of its speed."""
    # With equal shares of both drags at full speed, w = tan(pi / 4 * (1 - t / T)) solves
    # dw/dt = -(pi / 4 T) (1 + w**2).
    times = [coast_s * count / points for count in range(points + 1)]
    speeds = [free_rpm * tan(pi / 4.0 * (1.0 - time / coast_s)) for time in times]
    heard = [(t, w) for t, w in zip(times, speeds, strict=True) if w >= heard_to * free_rpm]
    rate = pi / 4.0 / coast_s
    fitted = {
        "terms": ["constant", "quadratic"],
        "constant_rad_s2": _quantity(rate * free_rpm * pi / 30.0),
        "linear_per_s": None,
        "quadratic_per_rad": _quantity(rate / (free_rpm * pi / 30.0)),
        "misfit_rpm": 130.0,
        "reached_share": heard_to,
        "time_s": [t for t, _ in heard[::2]],
        "speed_rpm": [w for _, w in heard[::2]],
    }
    return {
        "release_s": 6.5,
        "free_speed_rpm": free_rpm,
        "time_s": [t for t, _ in heard],
        "speed_rpm": [w for _, w in heard],
        "sd_rpm": [120.0] * len(heard),
        "law": fitted if law else None,
        "why_no_law": None if law else "The sound is lost too soon to tell the drag.",
    }


# A bearing of 7 balls of 1 mm on 4.7625 mm without contact angle: cage (1 - d/D) / 2, outer ring
# 7 times that, inner ring 7 (1 + d/D) / 2, ball D/d (1 - (d/D)^2): kinematics of pure rolling.
PARTS = {"cage": 0.395, "outer_ring": 2.765, "inner_ring": 4.235, "ball": 4.553}


def some_orders(*, stands_out=("outer_ring",), rotation_db=46.0, defect_db=17.0, steady_to=3.4):
    """Give order spectra: the rotation line, bearing lines, and what cannot be heard."""

    def spectrum(stretch, kind, stop, tall):
        step = 0.02
        levels = []
        for count in range(int(stop / step)):
            order = count * step
            level = 2.0 * sin(37.0 * order) + 1.5 * sin(101.3 * order)
            for harmonic in range(1, 9):
                peak = tall - 7.0 * (harmonic - 1)
                level = max(level, peak - 1500.0 * (order - harmonic) ** 2)
            for part in stands_out:
                level = max(level, defect_db - 1500.0 * (order - PARTS[part] * 1.004) ** 2)
            levels.append(level)
        return {
            "stretch": stretch,
            "kind": kind,
            "first_order": 0.0,
            "order_step": step,
            "level_db": levels,
            "speed_low_rpm": 399_000.0 if stretch == "steady" else 60_000.0,
            "speed_high_rpm": 401_000.0 if stretch == "steady" else 390_000.0,
            "turns": 26_000.0 if stretch == "steady" else 9_000.0,
        }

    return {
        "spectra": [
            spectrum("steady", "direct", steady_to, rotation_db),
            spectrum("coast-down", "direct", 9.0, rotation_db - 14.0),
        ],
        "lines": [
            *(_line("rotation", n, n, True, rotation_db - 7.0 * (n - 1)) for n in range(1, 9)),
            *(
                _line(part, 1, order, part in stands_out, defect_db if part in stands_out else 3.0)
                for part, order in PARTS.items()
            ),
            _line("outer_ring", 2, 2 * PARTS["outer_ring"], False, 2.0),
        ],
        "bearing": {"balls": 7, "ball_mm": 1.0, "pitch_mm": 4.7625, "contact_deg": 0.0},
        "inferred_bearing": None,
    }


def _line(part, harmonic, order, stands_out, level_db):
    room = 0.001 if part == "rotation" else 0.02
    return {
        "part": part,
        "harmonic": harmonic,
        "order": order,
        "low_order": order * (1.0 - room),
        "high_order": order * (1.0 + room),
        "can_be_seen": True,
        "why_not": None,
        "found_order": order * (1.0 if part == "rotation" else 1.004),
        "level_db": level_db,
        "false_alarm": 0.0004 if stands_out else 0.3,
        "stands_out": stands_out,
    }


def a_full_listening(
    top_rpm=400_000.0, *, coast_s=3.0, runs=3, stands_out=("outer_ring",), rotation_db=46.0, **more
):
    """Give a document of schema turnwell.listen/2 with everything heard."""
    spread = [1.0 + 0.012 * (number - (runs - 1) / 2.0) for number in range(runs)]
    named = "Outer ring" if stands_out else None
    return a_listening(top_rpm, coast_s=coast_s, **more) | {
        "schema": "turnwell.listen/2",
        "gate": [{"key": "codec_edge", "message": "The coding passes nothing above 16.0 kHz."}],
        "coast_down": [a_coast_down(top_rpm, coast_s * part) for part in spread],
        "orders": some_orders(stands_out=stands_out, rotation_db=rotation_db),
        "condition": {
            "bearing": {
                "parts": [],
                "named_part": "outer_ring" if named else None,
                "why": "The outer ring's line stands 17 dB over the noise: look at the outer ring."
                if named
                else "No line of the bearing stands out of the noise.",
            },
            "growth": {
                "speed_rpm": [],
                "level_db": [],
                "exponent": _quantity(2.1),
                "resonance_hz": None,
                "kind": "unbalance",
                "why": "The rotation line grows with the square of the speed, as unbalance does.",
            },
            "roughness": {
                "level_db": _quantity(-31.0),
                "why": "No earlier roughness is on file to hold it against.",
            },
        },
        "level": None,
    }


def _quantity(value):
    return {"value": value, "low": 0.97 * value, "high": 1.03 * value}
