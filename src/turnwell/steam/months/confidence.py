"""How sure is sure enough, for everything that is said of many records."""

__all__ = ["FALSE_ALARM", "NORMAL_95"]

# Chance of saying that something is there where nothing is: one look in twenty, common practice.
FALSE_ALARM = 0.05
# 97.5 % quantile of the normal distribution: half a 95 % interval, in standard deviations.
NORMAL_95 = 1.959963984540054
