"""Materials, cutters, machines and the sources behind their numbers.

Takes YAML files (shipped, in the person's settings, in the working folder's ``materials/``), gives frozen
models in which every number carries its source and how far to trust it. A file with anything wrong is
reported as ``file:line: field: found ...; accepted: ...; do: ...``, all problems together. Imports errors,
units and the standard modelling libraries only; nothing heavy.
"""

from millcalc.tables.check_file import TableCheck, check_table_file
from millcalc.tables.describe import Line, describe, describe_row
from millcalc.tables.locate import config_root, data_root, demo_root, search_roots
from millcalc.tables.models import Band, Cutter, Machine, Material, Shop, Source, Value
from millcalc.tables.rows import (
    Summary,
    alias_clashes,
    file_of,
    list_names,
    load_cutter,
    load_machine,
    load_material,
    load_row,
    summaries,
)
from millcalc.tables.shop import drawer, load_shop, shop_file
from millcalc.tables.sources import load_cautions, load_sources

__all__ = [
    "Band",
    "Cutter",
    "Line",
    "Machine",
    "Material",
    "Shop",
    "Source",
    "Summary",
    "TableCheck",
    "Value",
    "alias_clashes",
    "check_table_file",
    "config_root",
    "data_root",
    "demo_root",
    "describe",
    "describe_row",
    "drawer",
    "file_of",
    "list_names",
    "load_cautions",
    "load_cutter",
    "load_machine",
    "load_material",
    "load_row",
    "load_shop",
    "load_sources",
    "search_roots",
    "shop_file",
    "summaries",
]
