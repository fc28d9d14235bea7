"""`gaswright cylinder`: the register, and what happens to a cylinder besides fills and analyses."""

import click

from gaswright.cli.book_options import day_typed, printed, typed_bar, writing, writing_options
from gaswright.cli.options import units_option
from gaswright.errors import InputError, Problem

__all__ = ["command"]


@click.group(name="cylinder")
def command() -> None:
    """What a cylinder is, whose it is, where it went."""


@command.command(name="add")
@click.argument("cylinder")
@click.option("--serial", "serial", required=True, help="The stamped serial.")
@click.option("--owner", "owner", required=True, metavar="PERSON",
              help="Who breathes from it; several parted by commas, the owner first; or team.")
@click.option("--role", "role", required=True, help="main, stage, travel, deco, bailout, suit or surface.")
@click.option("--volume", "volume", required=True, help='Water volume in L; or capacity ("80 cuft").')
@click.option("--working-pressure", "working", required=True, help="Stamped working pressure, gauge.")
@click.option("--oxygen-clean", "oxygen_clean", is_flag=True, help="Cleaned and kept for oxygen.")
@click.option("--tested-until", "tested_until", default=None, metavar="DATE", help="Hydrostatic test.")
@click.option("--visual-until", "visual_until", default=None, metavar="DATE", help="Visual inspection.")
@click.option("--target", "target", default=None, metavar="MIX", help="The gas wished for.")
@click.option("--mark", "mark", default=None, metavar="DEPTH", help='MOD painted on for good, with its unit ("21 m").')
@click.option("--pair", "pair", default=None, help="Name of the pair it is analysed with.")
@click.option("--isolator", "isolator", type=click.Choice(["open", "shut"]), default=None, help="Of doubles.")
@units_option
@writing_options
@click.pass_context
def add(
    context: click.Context, cylinder: str, serial: str, owner: str, role: str, volume: str, working: str,
    oxygen_clean: bool, tested_until: str | None, visual_until: str | None, target: str | None, mark: str | None,  # noqa: FBT001  click passes by name
    pair: str | None, isolator: str | None, units: str, db: str | None, by: str, at_text: str | None, key: str | None,
) -> None:  # fmt: skip
    """Enter a cylinder in the register."""
    from gaswright.exchange.mixture_text import mixture  # noqa: PLC0415  commands load what they need
    from gaswright.services.book_cylinders import NewCylinder, add_cylinder  # noqa: PLC0415

    working_bar = typed_bar(working, units, "--working-pressure", 1000.0) or 0.0
    new = NewCylinder(
        cylinder, serial.strip(), tuple(part.strip() for part in owner.split(",") if part.strip()), role,
        _litres(volume, units, working_bar), working_bar, oxygen_clean, day_typed(tested_until, "--tested-until"),
        day_typed(visual_until, "--visual-until"), _mark(mark), None if target is None else mixture(target), pair,
        None if isolator is None else isolator == "open",
    )  # fmt: skip
    typed = {"cylinder": cylinder, "serial": serial, "owner": owner, "role": role, "volume": volume,
             "working": working, "oxygen_clean": oxygen_clean, "tested_until": tested_until,
             "visual_until": visual_until, "target": target, "mark": mark, "pair": pair, "isolator": isolator,
             "units": units}
    with writing("cylinder add", db, by, at_text, key, **typed) as (book, act):
        done = add_cylinder(book, act, new)
    context.exit(printed(done, f"{cylinder} registered"))


def _litres(volume: str, units: str, working_bar: float) -> float:
    from gaswright.exchange.quantity_text import typed_quantity  # noqa: PLC0415  commands load what they need
    from gaswright.units import Kind, capacity_water_volume_l, is_cubic_feet  # noqa: PLC0415

    number = typed_quantity(volume, Kind.CAPACITY, units, name="--volume", low=0.0)
    if is_cubic_feet(volume, units):
        if working_bar <= 0.0:
            raise InputError([Problem("--working-pressure", "must be above 0 to read a capacity")])
        return capacity_water_volume_l(number, working_bar)
    return number


def _mark(mark: str | None) -> str | None:
    from gaswright.units import Kind, QuantityError, has_unit, number_and_unit  # noqa: PLC0415  loads what it needs

    if mark is None:
        return None
    if not has_unit(mark):
        raise InputError([Problem("--mark", f'{mark!r} has no unit; write the depth with its unit, such as "21 m"')])
    try:
        number, unit = number_and_unit(mark, Kind.DEPTH)
    except QuantityError as error:
        raise InputError([Problem("--mark", f'{error}; write the depth with its unit, such as "21 m"')]) from error
    return f"{number:g} {'ft' if unit.startswith('f') else 'm'}"


@command.command(name="inspect")
@click.argument("cylinder")
@click.option("--tested-until", "tested_until", default=None, metavar="DATE", help="Hydrostatic test.")
@click.option("--visual-until", "visual_until", default=None, metavar="DATE", help="Visual inspection.")
@writing_options
@click.pass_context
def inspect(
    context: click.Context, cylinder: str, tested_until: str | None, visual_until: str | None, db: str | None,
    by: str, at_text: str | None, key: str | None,
) -> None:  # fmt: skip
    """Record test dates."""
    from gaswright.services.book_cylinders import inspect_cylinder  # noqa: PLC0415  commands load what they need

    tested, visual = day_typed(tested_until, "--tested-until"), day_typed(visual_until, "--visual-until")
    with writing("cylinder inspect", db, by, at_text, key, cylinder=cylinder, tested_until=tested_until,
                 visual_until=visual_until) as (book, act):  # fmt: skip
        done = inspect_cylinder(book, act, cylinder, tested_until=tested, visual_until=visual)
    context.exit(printed(done, f"{cylinder} inspected"))


@command.command(name="assign")
@click.argument("cylinder")
@click.option("--owner", "owner", required=True, metavar="PERSON", help="As for add.")
@writing_options
@click.pass_context
def assign(
    context: click.Context, cylinder: str, owner: str, db: str | None, by: str, at_text: str | None, key: str | None,
) -> None:  # fmt: skip
    """Give a cylinder to other divers."""
    from gaswright.services import book_cylinders  # noqa: PLC0415  commands load what they need

    divers = tuple(part.strip() for part in owner.split(",") if part.strip())
    with writing("cylinder assign", db, by, at_text, key, cylinder=cylinder, owner=owner) as (book, act):
        done = book_cylinders.assign(book, act, cylinder, divers)
    context.exit(printed(done, f"{cylinder} assigned"))


@command.command(name="mark")
@click.argument("cylinder")
@click.argument("what", type=click.Choice(["cleaned", "retired", "drained", "returned"]))
@writing_options
@click.pass_context
def marked(
    context: click.Context, cylinder: str, what: str, db: str | None, by: str, at_text: str | None, key: str | None,
) -> None:  # fmt: skip
    """Record that a cylinder was cleaned for oxygen, retired, drained, or came back."""
    from gaswright.custody.fact import Kind  # noqa: PLC0415  commands load what they need
    from gaswright.services.book_cylinders import clean, retire  # noqa: PLC0415
    from gaswright.services.book_handling import change  # noqa: PLC0415

    with writing("cylinder mark", db, by, at_text, key, cylinder=cylinder, what=what) as (book, act):
        if what in {"cleaned", "retired"}:
            done = (clean if what == "cleaned" else retire)(book, act, cylinder)
        else:
            done = change(book, act, cylinder, Kind.DRAINED if what == "drained" else Kind.RETURNED, {})
    context.exit(printed(done, f"{cylinder} {what}"))


@command.command(name="lend")
@click.argument("cylinder")
@click.option("--to", "to", required=True, help="To whom; an erasable note.")
@writing_options
@click.pass_context
def lend(
    context: click.Context, cylinder: str, to: str, db: str | None, by: str, at_text: str | None, key: str | None,
) -> None:  # fmt: skip
    """Record that a cylinder was lent: its gas is unknown from then on."""
    from gaswright.services import book_handling  # noqa: PLC0415  commands load what they need

    with writing("cylinder lend", db, by, at_text, key, cylinder=cylinder, to=to) as (book, act):
        done = book_handling.lend(book, act, cylinder, to)
    context.exit(printed(done, f"{cylinder} lent"))


@command.command(name="freeze")
@click.argument("cylinder")
@click.option("--reason", "reason", required=True, help="Why; an erasable note.")
@writing_options
@click.pass_context
def freeze(
    context: click.Context, cylinder: str, reason: str, db: str | None, by: str, at_text: str | None,
    key: str | None,
) -> None:  # fmt: skip
    """Keep a cylinder as evidence, as it is."""
    from gaswright.services import book_handling  # noqa: PLC0415  commands load what they need

    with writing("cylinder freeze", db, by, at_text, key, cylinder=cylinder, reason=reason) as (book, act):
        done = book_handling.freeze(book, act, cylinder, reason)
    context.exit(printed(done, f"{cylinder} frozen"))


@command.command(name="pressure")
@click.argument("cylinder")
@click.argument("pressure")
@click.option("--serial-read", "serial_read", default=None, help="The serial, or its last four, read from the metal.")
@units_option
@writing_options
@click.pass_context
def pressure_read(
    context: click.Context, cylinder: str, pressure: str, serial_read: str | None, units: str, db: str | None,
    by: str, at_text: str | None, key: str | None,
) -> None:  # fmt: skip
    """Record a pressure, after a dive or before the next one."""
    from gaswright.services.book_handling import read_pressure  # noqa: PLC0415  commands load what they need

    gauge_bar = typed_bar(pressure, units, "pressure") or 0.0
    with writing("cylinder pressure", db, by, at_text, key, cylinder=cylinder, pressure=pressure,
                 serial_read=serial_read, units=units) as (book, act):  # fmt: skip
        done = read_pressure(book, act, cylinder, gauge_bar, serial_read)
    context.exit(printed(done, f"{cylinder} read"))


@command.command(name="stage")
@click.argument("cylinder")
@click.option("--depth", "depth", default=None, help='Of the place, plain or with its unit ("70 ft").')
@click.option("--witness", "witness", default=None, metavar="PERSON", help="The second name.")
@click.option("--pressure", "pressure", default=None, help="Gauge.")
@click.option("--lifted", "lifted", is_flag=True, help="It was lifted: its analysis ends.")
@units_option
@writing_options
@click.pass_context
def stage(
    context: click.Context, cylinder: str, depth: str | None, witness: str | None, pressure: str | None,
    lifted: bool, units: str, db: str | None, by: str, at_text: str | None, key: str | None,  # noqa: FBT001  click passes by name
) -> None:  # fmt: skip
    """Leave a cylinder under water on purpose, or lift it."""
    from gaswright.exchange.quantity_text import typed_quantity  # noqa: PLC0415  commands load what they need
    from gaswright.services import book_handling  # noqa: PLC0415
    from gaswright.units import Kind  # noqa: PLC0415

    gauge_bar = typed_bar(pressure, units)
    if not lifted and (depth is None or witness is None):
        raise InputError([Problem("--depth", "is missing, or --witness; say where it was left, and the second name")])
    with writing("cylinder stage", db, by, at_text, key, cylinder=cylinder, depth=depth, witness=witness,
                 pressure=pressure, lifted=lifted, units=units) as (book, act):  # fmt: skip
        if lifted:
            done = book_handling.lift(book, act, cylinder, gauge_bar)
        else:
            depth_m = typed_quantity(depth, Kind.DEPTH, units, name="--depth")
            done = book_handling.stage(book, act, cylinder, depth_m=depth_m, gauge_bar=gauge_bar, witness=str(witness))
    context.exit(printed(done, f"{cylinder} {'lifted' if lifted else 'staged'}"))
