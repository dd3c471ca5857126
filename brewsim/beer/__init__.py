"""A recipe and priors become a problem."""
