"""How loud a handpiece is, and what that means for the ear beside it."""
