"""Documents of schema turnwell.listen/1 as the tests need them: exact curves, known phases."""

from math import exp

__all__ = ["a_listening"]


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
        "schema": "turnwell.listen/1",
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
