"""Settings that every test shares."""

from hypothesis import HealthCheck, settings

settings.register_profile(
    "gaswright", derandomize=True, deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("gaswright")
