"""What holds for every test."""

from hypothesis import HealthCheck, settings

# How long an example takes is the machine's business and no property of what is tested.
settings.register_profile("any machine", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("any machine")
