"""A starter recipe with a comment on every line, which reads without a fault."""

from brewsim.quantities.fields import read_name

_TEXT = """# A brewsim recipe. Text after # is a comment. Every value is a text in quotes.
#
# How sure are you?  "5.6 %"          a usual spread is put around it
#                    "exactly 5.6 %"  no spread at all
#                    "5.6 ± 0.6 %"    nine in ten between 5.0 and 6.2 %, the same as "5.0 to 6.2 %"
#                    "5.6 sd 0.4 %"   a standard deviation
#                    "15 mg/kg within a factor 2.5"
#                    "between 5 and 6.2 %, likely 5.5"     never outside
#                    ["5.4 %", "5.9 %", "5.6 %"]           own measurements
# Units: kg g lb oz, L hL "US gal" "imp gal", °C °F, min h days weeks, g/L, °P or 1.048, EBC SRM °L.

name   = {name}
volume = "20 L"                    # into the fermenter
boil   = "60 min"
efficiency = "72 ± 3 %"            # of the mash, into the kettle
mash   = "66 °C"

[[malt]]
name = "Pilsner malt"
mass = "4.7 kg"

[[hop]]
variety = "Hersbrucker Spät"
lot     = "H24"                    # additions that name one lot share its unknowns
alpha   = "2.8 %"                  # from the pack
mass    = "20 g"
when    = "mash"                   # mash | first wort | boil 60 min | flameout |
                                   # whirlpool 20 min at 80 °C | dry hop day 3 for 4 days at 16 °C
[[hop]]
variety = "Northern Brewer"
alpha   = "8.5 %"
mass    = "18 g"
when    = "boil 60 min"

[[hop]]
variety = "Hersbrucker Spät"
lot     = "H24"
mass    = "30 g"
when    = "whirlpool 20 min at 80 °C"

[[precursor]]                      # leave the block out if you use none
name = "grape-derived powder"
dose = "1 g/L"
when = "whirlpool"                 # mash | boil | whirlpool | fermentation day 2

[yeast]
name = "beta-lyase-active lager yeast"
attenuation   = "76 to 82 %"
thiol_release = "active"           # ordinary | active | engineered
diastatic     = "no"               # yes | no | unknown

[package]
container   = "keg"                # keg | bottle (with rating = "3 vol", priming = "6 g/L glucose")
carbonation = "2.5 vol"
storage     = "6 weeks at 4 °C"

[targets]
alcohol    = "4.5 to 5.5 %"
bitterness = "15 to 30 IBU"
thiol_lead = "0.25x to 4x"         # thiols against the hop aroma

[knobs]                            # what you may turn, and how far
"precursor 1 dose"    = "0 to 4 g/L"
"hop 1 mass"          = "0 to 80 g in steps of 5 g"
"hop 3 mass"          = "0 to 80 g in steps of 5 g"
"yeast thiol_release" = ["ordinary", "active"]

# [given]                          # any quantity of the model, stated instead of computed
# preboil_extract_plato = "10.9 ± 0.2 °P"
"""


def starter_recipe(name: str = "Quillhaven lager") -> str:
    """Return the text of a commented recipe of that name; raises ValueError where it is none."""
    clean = read_name(name) if name.strip() else "Quillhaven lager"
    escaped = clean.replace("\\", "\\\\").replace('"', '\\"')
    return _TEXT.replace("{name}", f'"{escaped}"')
