"""Units, told by how a quantity's name ends."""

UNIT_BY_ENDING = {
    "_fraction": "",
    "_factor": "",
    "_share": "",
    "_exposure": "",
    "_activity": "odour units",
    "_lead": "doublings",
    "_doubling": "doublings",
    "_to_bitterness": "doublings",
    "_to_gravity": "",
    "_of_hop": "index",
    "_of_dry_hop": "index",
    "_count": "",
    "_index": "",
    "_kg": "kg",
    "_g": "g",
    "_mg": "mg",
    "_g_l": "g/L",
    "_mg_l": "mg/L",
    "_ug_l": "µg/L",
    "_ng_l": "ng/L",
    "_nmol_l": "nmol/L",
    "_nmol_g": "nmol/g",
    "_ug_kg": "µg/kg",
    "_mg_kg": "mg/kg",
    "_g_g": "g/g",
    "_l": "L",
    "_l_kg": "L/kg",
    "_l_h": "L/h",
    "_plato": "°P",
    "_sg": "",
    "_c": "°C",
    "_min": "min",
    "_h": "h",
    "_day": "days",
    "_week": "weeks",
    "_month": "months",
    "_ebc": "EBC",
    "_srm": "SRM",
    "_lovibond": "°L",
    "_ibu": "IBU",
    "_vol": "vol",
    "_bar": "bar",
    "_ph": "pH",
    "_kcal_l": "kcal/L",
    "_kj_mol": "kJ/mol",
    "_per_min": "1/min",
    "_per_day": "1/day",
    "_per_week": "1/week",
    "_per_c": "1/°C",
    "_per_ph": "1/pH",
    "_per_g_l": "L/g",
    "_per_plato": "1/°P",
    "_ibu_per_point": "IBU/point",
    "_abv_per_g_l": "% ABV per g/L",
    "_unit": "",
}


def unit_of(name: str) -> str | None:
    """Return the unit a quantity's name ends in, longest ending first, or None."""
    base = name.partition("__")[0]
    for ending in sorted(UNIT_BY_ENDING, key=len, reverse=True):
        if base.endswith(ending):
            return UNIT_BY_ENDING[ending]
    return None
