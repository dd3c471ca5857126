"""The joining room: recipe text and priors in, a Problem out."""
