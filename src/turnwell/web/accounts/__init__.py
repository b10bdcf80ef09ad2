"""People who sign in, and what each may see."""
