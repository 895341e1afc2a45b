"""The brief: the items, the states, and the caller that steps through them."""
