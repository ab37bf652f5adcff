"""The job page: what is done about each line, what to order, what it costs, when, what to check."""
