"""What goes in: hops as weighed, their lots, and where each addition meets the wort."""

import numpy as np

from brewsim.dims import Input, PerBatch, PerDryHop, PerHop, PerHopLot, Range

_DAYS_PER_MONTH = 30.44

INPUTS = {
    "hop_mass_g": Input(("hop",), "Mass of a hot-side hop addition, as the recipe says"),
    "hop_weighing_factor": Input(("hop",), "True mass over weighed mass of a hop addition"),
    "hop_lot_of_hop": Input(("hop",), "Which lot a hot-side addition comes from"),
    "hop_boil_time_min": Input(("hop",), "Planned minutes an addition boils"),
    "hop_in_mash_share": Input(("hop",), "1 for a mash hop, else 0"),
    "hop_in_first_wort_share": Input(("hop",), "1 for a first-wort hop, else 0"),
    "hop_in_whirlpool_share": Input(("hop",), "1 for a whirlpool hop, else 0"),
    "hop_stand_share": Input(("hop",), "Share of the hop stand an addition is in the wort for"),
    "hop_is_pellet_share": Input(("hop",), "1 for pellets, 0 for cones"),
    "dry_hop_mass_g": Input(("dry_hop",), "Mass of a dry-hop addition, as the recipe says"),
    "dry_hop_weighing_factor": Input(("dry_hop",), "True mass over weighed mass of a dry hop"),
    "hop_lot_of_dry_hop": Input(("dry_hop",), "Which lot a dry-hop addition comes from"),
    "dry_hop_contact_day": Input(("dry_hop",), "Days a dry hop stays in the beer"),
    "dry_hop_temperature_c": Input(("dry_hop",), "Temperature during a dry hop's contact"),
    "dry_hop_in_fermentation_share": Input(("dry_hop",), "1 for a dry hop added while fermenting"),
    "hop_lot_stated_alpha_fraction": Input(
        ("hop_lot",), "Alpha acids of a hop lot when packed or certified"
    ),
    "hop_lot_age_month": Input(("hop_lot",), "Months a hop lot was stored since that figure"),
    "hop_lot_storage_temperature_c": Input(("hop_lot",), "Temperature a hop lot was stored at"),
    "hop_lot_package_factor": Input(
        ("hop_lot",), "Ageing rate in a hop lot's package over loose storage"
    ),
    "hop_lot_alpha_loss_per_day": Input(
        ("hop_lot",), "Rate at which a hop lot loses alpha acids, loose at 20 °C"
    ),
    "storage_halving_c": Input((), "Degrees that halve the ageing rate of hops"),
}
