"""Forms of sterilizers, cycles, clocks, loads, water and layouts."""
