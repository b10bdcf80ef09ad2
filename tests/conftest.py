"""What all tests share: examples are drawn without a clock, for a busy machine is no defect."""

from hypothesis import settings

settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")
