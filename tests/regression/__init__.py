"""What the demo recipes gave last time: regression only, it says nothing about being right.

`python -m tests.regression --write` writes the table anew after a change that was meant.
"""
