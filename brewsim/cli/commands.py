"""The list of commands, in the order of `brewsim --help`."""

import typer

from brewsim.cli.card import card
from brewsim.cli.chart import chart
from brewsim.cli.check import check
from brewsim.cli.compare import compare
from brewsim.cli.coverage import coverage
from brewsim.cli.explain import explain
from brewsim.cli.export import export
from brewsim.cli.house import house
from brewsim.cli.learn import learn
from brewsim.cli.log import log
from brewsim.cli.made_by import with_strict
from brewsim.cli.midway import midway
from brewsim.cli.new import new
from brewsim.cli.priors import priors
from brewsim.cli.rank import rank
from brewsim.cli.reference import glossary, schema
from brewsim.cli.relot import relot
from brewsim.cli.report import report
from brewsim.cli.simulate import simulate
from brewsim.cli.specify import specify
from brewsim.cli.steer import steer
from brewsim.cli.table_file import with_table_file
from brewsim.cli.trace import trace
from brewsim.cli.turn import turn

COMMANDS = (
    report,
    card,
    log,
    check,
    simulate,
    rank,
    turn,
    steer,
    compare,
    relot,
    midway,
    specify,
    explain,
    learn,
    chart,
    house,
    trace,
    coverage,
    glossary,
    priors,
    schema,
    new,
    export,
)


TABLES = (
    check,
    simulate,
    rank,
    turn,
    steer,
    compare,
    relot,
    midway,
    specify,
    explain,
    learn,
    house,
    coverage,
    priors,
)
"""Commands that print tables; each takes --out."""


def register(app: typer.Typer) -> None:
    """Add every command to the app."""
    for command in COMMANDS:
        with_tables = with_table_file(command) if command in TABLES else command
        app.command()(with_strict(with_tables))
