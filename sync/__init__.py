"""Several devices into one result set: handouts, returns, combining, matching, doubts."""
