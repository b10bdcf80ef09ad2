"""The water a load makes, what leaves it, and how long what is left keeps the steel wet."""
