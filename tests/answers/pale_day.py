"""The recipe of the brew days, and short names of what is read off it."""

PALE = """
name = "Quillhaven gravity trial"
volume = "20 L"
boil = "60 min"

[[malt]]
name = "US two-row pale malt"
mass = "4.5 kg"

[[hop]]
variety = "Galena"
alpha = "12 %"
mass = "15 g"
when = "boil 60 min"

[package]
container = "keg"
carbonation = "2.4 vol"
"""
OG, ABV, IBU, VOLUME = (
    "original_gravity_sg",
    "alcohol_by_volume_fraction",
    "bitterness_ibu",
    "fermenter_volume_l",
)
