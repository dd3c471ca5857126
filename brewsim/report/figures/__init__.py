"""One figure per module; a figure is data in, a Plotly figure out."""
