"""``holdwatch product``: the products of the written plan and their steps."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from holdwatch import clock
from holdwatch.cli.common import (
    AtOption,
    ByOption,
    DataOption,
    JsonOption,
    iso,
    opened,
    print_json,
    print_table,
    recorded_by,
)
from holdwatch.errors import ConfigError

if TYPE_CHECKING:
    from holdwatch.plan.model import Product

__all__ = ["product_app"]

product_app = typer.Typer(help="The products of the written plan and their steps.", no_args_is_help=True)

NameArgument = Annotated[str, typer.Argument(metavar="PRODUCT", help="The product's name.", show_default=False)]
WhyOption = Annotated[str, typer.Option("--why", metavar="REASON", help="Why the plan is changed.")]


@product_app.command("starters")
def product_starters(
    word: Annotated[str | None, typer.Argument(metavar="STARTER", help="One of them, as a file.")] = None,
) -> None:
    """List the starters, or write one of them as a file to change.

    holdwatch product starters

    holdwatch product starters ganache
    """
    from holdwatch.plan.starters import known_starters, starter
    from holdwatch.plan.writing import product_text

    if word is not None:
        typer.echo(product_text(starter(word)), nl=False)
        return
    usually = {**_TCS, "no": "usually not"}
    found = [(each, starter(each)) for each in known_starters()]
    rows = [(each, product.name, usually[product.tcs.value], product.about) for each, product in found]
    print_table(("starter", "product", "TCS food", "what it is"), rows, "")
    typer.echo("Take one, and answer what is asked: holdwatch product take STARTER")


@product_app.command("take")
def product_take(
    word: Annotated[str, typer.Argument(metavar="STARTER", help="The starter's word.", show_default=False)],
    name: Annotated[str, typer.Option("--name", help="What it is called here.", show_default=False)] = "",
    answer: Annotated[
        list[str] | None,
        typer.Option("--answer", metavar="QUESTION=ANSWER", help="An answer, as egg=pasteurised. May repeat."),
    ] = None,
    why: WhyOption = "taken from a starter",
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Take a starter into the plan, in the site's language; what is not answered is taken as the strictest.

    holdwatch product take pastry-cream --answer egg=pasteurised --answer "allergens=eggs, milk"
    """
    from holdwatch.plan.answering import answered
    from holdwatch.plan.changing import taken
    from holdwatch.storage.products import product_at, set_product
    from holdwatch.storage.register import site_at

    now_ms, who = clock.now_ms(), recorded_by(by)
    with opened(data) as store, store.write() as session:
        product = taken(word, name, language=site_at(session, now_ms).language)
        for each in answer or ():
            asked, equals, said = each.partition("=")
            if not equals:
                raise ConfigError(f"{each!r} is no answer: write it as egg=pasteurised")
            product = answered(product, _asked(asked.strip()), said, by=who, at_ms=now_ms)
        if product_at(session, product.name, now_ms) is not None:
            raise ConfigError(f"the plan has a product {product.name!r} already: give this one another --name")
        set_product(session, product, from_ms=now_ms, now_ms=now_ms, by=who, why=why)
    typer.echo(f"{product.name} is in the plan.")
    _tell_open(product)


@product_app.command("list")
def product_list(at: AtOption = None, data: DataOption = None, as_json: JsonOption = False) -> None:
    """List the products of the plan, now or at an instant."""
    from holdwatch.cli.times import site_instant
    from holdwatch.plan.allergens import told
    from holdwatch.plan.control import need_of
    from holdwatch.plan.reading import product_data
    from holdwatch.storage.products import products_in_force

    now_ms = clock.now_ms()
    with opened(data) as store, store.read() as session:
        found = products_in_force(session, site_instant(session, at, now_ms))
    if as_json:
        print_json([product_data(each) for each in found])
        return
    rows = [
        (
            each.name,
            _TCS[need_of(each).tcs.value],
            told(each.contains),
            ", ".join(step.step.value for step in each.steps),
            str(len(each.unanswered) or "nothing"),
        )
        for each in found
    ]
    none = "No product in the plan yet. Begin with one of: holdwatch product starters"
    print_table(("product", "TCS food", "allergens", "steps", "to check"), rows, none)


@product_app.command("show")
def product_show(
    name: NameArgument,
    at: AtOption = None,
    as_file: Annotated[bool, typer.Option("--file", help="Write it as a file to change.")] = False,
    data: DataOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show a product: what must be known of it, and its steps with the limits in force.

    holdwatch product show "Pastry cream"
    """
    from holdwatch.cli.times import site_instant
    from holdwatch.plan.reading import product_data
    from holdwatch.plan.telling import product_lines
    from holdwatch.plan.writing import product_text
    from holdwatch.storage.inforce import limits_of
    from holdwatch.storage.products import product_named
    from holdwatch.storage.register import site_at

    now_ms = clock.now_ms()
    with opened(data) as store, store.read() as session:
        at_ms = site_instant(session, at, now_ms)
        product, limits = product_named(session, name, at_ms), limits_of(session, site_at(session, at_ms))
    if as_json:
        print_json(product_data(product))
    elif as_file:
        typer.echo(product_text(product), nl=False)
    else:
        typer.echo("\n".join(product_lines(product, limits)))


@product_app.command("answer")
def product_answer(
    name: NameArgument,
    question: Annotated[
        str,
        typer.Argument(metavar="QUESTION", help="egg, ph-and-aw, susceptible, allergens or plain.", show_default=False),
    ],
    answer: Annotated[
        str,
        typer.Argument(metavar="ANSWER", help="The answer; open puts the question again.", show_default=False),
    ],
    why: WhyOption = "",
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Answer what must be checked of a product.

    holdwatch product answer "Lemon curd" ph-and-aw "pH 3.3, aw 0.89"
    """
    from holdwatch.plan.answering import answered, reopened
    from holdwatch.plan.control import need_of

    asked, now_ms, who = _asked(question), clock.now_ms(), recorded_by(by)

    def change(product: "Product") -> "Product":
        if answer.strip().casefold() == "open":
            return reopened(product, asked)
        return answered(product, asked, answer, by=who, at_ms=now_ms)

    product = _changed(name, change, why=why or f"{asked} answered: {answer}", now_ms=now_ms, by=who, data=data)
    typer.echo(f"{product.name}: {asked} is {product.said(asked) or 'open'}. {need_of(product).reason}")
    _tell_open(product)


@product_app.command("step")
def product_step(
    name: NameArgument,
    number: Annotated[int, typer.Argument(metavar="NUMBER", help="Which step.", min=1, show_default=False)],
    called: Annotated[str | None, typer.Option("--called", help="What is done.", show_default=False)] = None,
    hazard: Annotated[str | None, typer.Option("--hazard", help="What can go wrong.", show_default=False)] = None,
    watched: Annotated[str | None, typer.Option("--watched", help="How it is watched.", show_default=False)] = None,
    how_often: Annotated[str | None, typer.Option("--how-often", help="How often.", show_default=False)] = None,
    in_time: Annotated[
        str | None, typer.Option("--in-time", help="What helps while the limit can still be kept.", show_default=False)
    ] = None,
    action: Annotated[
        str | None, typer.Option("--action", help="What is done when the limit is not kept.", show_default=False)
    ] = None,
    verified_by: Annotated[str | None, typer.Option("--verified-by", help="Who verifies.", show_default=False)] = None,
    record: Annotated[str | None, typer.Option("--record", help="Which record shows it.", show_default=False)] = None,
    place: Annotated[
        str | None, typer.Option("--place", metavar="UNIT", help='Where it usually stands; "" for nowhere.')
    ] = None,
    remove: Annotated[bool, typer.Option("--remove", help="Leave the step out.")] = False,
    why: WhyOption = "",
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Change a step of a product, or leave it out.

    holdwatch product step "Pastry cream" 3 --place "Walk-in 1" --why "always there"
    """
    from holdwatch.plan.changing import with_step, without_step

    fields = {
        "name": called,
        "hazard": hazard,
        "watched": watched,
        "how_often": how_often,
        "in_time": in_time,
        "action": action,
        "verified_by": verified_by,
        "record": record,
        "place": place,
    }
    changes: dict[str, Any] = {key: value.strip() for key, value in fields.items() if value is not None}
    if not remove and not changes:
        raise ConfigError("say what is changed of the step, such as --place or --action, or --remove")

    def change(product: "Product") -> "Product":
        return without_step(product, number) if remove else with_step(product, number, changes)

    reason = why or f"step {number} {'left out' if remove else 'changed'}"
    product = _changed(name, change, why=reason, now_ms=clock.now_ms(), by=recorded_by(by), data=data)
    typer.echo(f"{product.name}: step {number} is {'left out' if remove else 'changed'}.")


@product_app.command("shelf-life")
def product_shelf_life(
    name: NameArgument,
    days: Annotated[
        int | None,
        typer.Option("--days", min=0, help="Days, the day of preparation being day 1; 0 for none.", show_default=False),
    ] = None,
    discard: Annotated[
        str | None,
        typer.Option("--discard", help='When it is thrown away besides; "" for nothing.', show_default=False),
    ] = None,
    in_use: Annotated[
        str | None,
        typer.Option(
            "--in-use",
            metavar="TIME",
            help='For how long a piping bag, a tub or a tray of it may be in use: "4 h"; "" for not said.',
            show_default=False,
        ),
    ] = None,
    why: WhyOption = "",
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Set the kitchen's own times of a product: its shelf life, its time in use, and when it is thrown away besides.

    holdwatch product shelf-life "Pastry cream" --days 3 --why "tastes stale on day 4"
    holdwatch product shelf-life "Pastry cream" --in-use "4 h"
    """
    if days is None and discard is None and in_use is None:
        raise ConfigError("say what is changed: --days, --in-use or --discard")

    def change(product: "Product") -> "Product":
        return replace(
            product,
            shelf_days=product.shelf_days if days is None else days or None,
            discard=product.discard if discard is None else discard.strip(),
            in_use=product.in_use if in_use is None else in_use.strip(),
        )

    now_ms, who = clock.now_ms(), recorded_by(by)
    product = _changed(name, change, why=why or "shelf life set", now_ms=now_ms, by=who, data=data)
    life = f"{product.shelf_days} d of our own" if product.shelf_days else "the date mark of the limits in force"
    used = f" In use for {product.in_use} at most." if product.in_use else ""
    typer.echo(f"{product.name}: {life}.{used} {product.discard}".rstrip())


@product_app.command("set")
def product_set(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A product file, as starters are.", show_default=False)],
    why: WhyOption = "taken from a file",
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Take a product from a file into the plan, in the place of the one of that name; new answers are yours.

    holdwatch product set cream.toml --why "new recipe"
    """
    from holdwatch.plan.answering import answered_anew
    from holdwatch.plan.starters import read_product_file
    from holdwatch.storage.products import product_at, set_product

    product, now_ms, who = read_product_file(file), clock.now_ms(), recorded_by(by)
    with opened(data) as store, store.write() as session:
        before = product_at(session, product.name, now_ms)
        product = answered_anew(product, before, by=who, at_ms=now_ms)
        set_product(session, product, from_ms=now_ms, now_ms=now_ms, by=who, why=why)
    typer.echo(f"{product.name} is in the plan.")
    _tell_open(product)


@product_app.command("retire")
def product_retire(
    name: NameArgument,
    why: Annotated[str, typer.Option("--why", metavar="REASON", help="Why it is made no more.")],
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Take a product out of the plan; its history stays.

    holdwatch product retire "Ganache" --why "bought in now"
    """
    from holdwatch.storage.products import retire_product

    now_ms = clock.now_ms()
    with opened(data) as store, store.write() as session:
        retired = retire_product(session, name, from_ms=now_ms, now_ms=now_ms, by=recorded_by(by), why=why)
    typer.echo(f"{retired.name} is in the plan no more.")


@product_app.command("history")
def product_history(name: NameArgument, data: DataOption = None, as_json: JsonOption = False) -> None:
    """List every version of a product: from when, by whom and why.

    holdwatch product history "Pastry cream"
    """
    from holdwatch.cli.times import local
    from holdwatch.plan.telling import differences
    from holdwatch.storage import products
    from holdwatch.storage.register import site_at

    with opened(data) as store, store.read() as session:
        versions = products.product_history(session, name)
        zone = site_at(session, None).timezone
    if as_json:
        print_json(
            [
                {"from": iso(each.from_ms), "by": each.by, "why": each.why, "retired": each.retired, "plan": each.plan}
                for each in versions
            ]
        )
        return
    for before, version in zip([None, *versions], versions, strict=False):
        typer.echo(f"{local(version.from_ms, zone)}  {version.by}: {version.why}")
        for line in differences(None if before is None else before.plan, version.plan):
            typer.echo(f"    {line}")


_TCS = {"yes": "yes", "no": "no", "unknown": "not known yet, taken as yes"}


def _asked(word: str) -> Any:
    from holdwatch.plan.model import Asked
    from holdwatch.storage.names import check_choice

    return check_choice("question", word, Asked)


def _changed(
    name: str, change: "Callable[[Product], Product]", *, why: str, now_ms: int, by: str, data: Path | None
) -> "Product":
    """Put a changed version of a product into the plan, in one transaction with the look at what it was."""
    from holdwatch.storage.products import product_named, set_product

    with opened(data) as store, store.write() as session:
        product = change(product_named(session, name, now_ms))
        set_product(session, product, from_ms=now_ms, now_ms=now_ms, by=by, why=why)
    return product


def _tell_open(product: "Product") -> None:
    """Say what is still to be checked, and how it is answered."""
    for question in product.unanswered:
        typer.echo(f"To check: {question.ask} ({question.how})")
    if product.unanswered:
        typer.echo(f'Answer: holdwatch product answer "{product.name}" {product.unanswered[0].asked} ANSWER')
