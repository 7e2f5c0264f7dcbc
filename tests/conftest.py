"""Settings every test runs under."""

from hypothesis import HealthCheck, settings

# Derandomised: a red run is red again. No deadline: speed is the benchmark's business.
settings.register_profile(
    "drainsim",
    deadline=None,
    derandomize=True,
    database=None,
    max_examples=60,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("drainsim")
