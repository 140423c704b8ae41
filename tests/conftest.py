"""What holds for all tests: hypothesis takes its time on a busy machine, and draws the same examples every time."""

from hypothesis import HealthCheck, settings

settings.register_profile(
    "steady", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("steady")
