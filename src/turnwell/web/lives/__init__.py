"""Lives and returns of the shop's handpieces: office reviews, the round, what a repair is worth."""
