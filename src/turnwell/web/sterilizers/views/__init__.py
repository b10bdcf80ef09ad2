"""Pages of sterilizers, their records, intakes, columns, water and papers."""
