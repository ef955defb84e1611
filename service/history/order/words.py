"""The order list in words and ruled rows, the same for its page and its paper."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.domain.nouns.site import Zone
from service.domain.order.counts import ToOrder
from service.domain.order.order_list import FAULT_WORDS, OrderList
from service.domain.words.measures import Units, say_distance, say_sides
from service.domain.words.speech import later, tr, trn
from service.history.closeout.sheet import Part, Row, Table, When, cell
from service.history.order.cut_words import cut_table
from service.history.order.measures import share, tape_run
from service.history.order.told import OrderSheet, OrderTold
from service.history.order.totals_words import after, label_of, letters_of

CAUTIONS = (
    later(
        "A roll 15 ft by 200 ft of 10 mil film weighs about 140 to 150 lb: two people or a machine lift it "
        "(worked out with polyethylene at 0.92 g/cm³)."
    ),
    later(
        "Cut away from the body with a hooked or guarded blade, a board under the cut, gloves on (common "
        "practice, no source)."
    ),
    later(
        "Store rolls flat, dry and out of the sun, and weigh loose film down at once: wind takes it (common "
        "practice, no source)."
    ),
    later(
        "Check width and length against the supplier's own roll before you order: a roll that is narrower or "
        "shorter changes the whole plan. The material maker's instructions govern."
    ),
)


def sheet_of(told: OrderTold, when: When) -> OrderSheet:
    """The order list as its sheet; `when` says a moment in the project's time zone."""
    title = tr("Order list of {project}", project=told.project)
    saved = _saved(told, when)
    return OrderSheet(
        title=title,
        block=_block(told, saved),
        stands=stands(told.order),
        small=proof_words(told.order),
        before=(_to_order(told), *_left_out(told)),
        deliveries=tuple(_delivery(told, index, when) for index in range(len(told.order.deliveries))),
        after=tuple(after(told)),
        cautions=tuple(tr(words) for words in CAUTIONS),
        running=f"{title}, {saved}",
    )


def stands(order: OrderList) -> str:
    """What to order, in one line."""
    film, tape = order.film.counts.to_order, order.tape.counts.to_order
    if not film and not tape:
        return tr("Nothing is to be ordered")
    return tr("Order {film} and {tape}", **_rolls(film, tape))


def _rolls(film: int, tape: int) -> dict[str, str]:
    """Both counts in words, by the names that sentences have for them."""
    return {
        "film": trn("{n} roll of film", "{n} rolls of film", film) if film else tr("no film"),
        "tape": trn("{n} roll of tape", "{n} rolls of tape", tape) if tape else tr("no tape"),
    }


def proof_words(order: OrderList) -> str:
    """Whether fewer rolls could give the sheets, said honestly."""
    film = order.film
    if not film.sheet_rolls:
        return tr("No sheet is left to cut.")
    if film.proved:
        return trn(
            "The sheets come off {n} roll: fewer cannot give them, which is proved.",
            "The sheets come off {n} rolls: fewer cannot give them, which is proved.",
            film.sheet_rolls,
        )
    gap = film.sheet_rolls - film.bound
    return tr(
        "The sheets come off {rolls}. At least {bound} are needed however they are cut; whether {gap} can be "
        "saved is not proved.",
        rolls=trn("{n} roll", "{n} rolls", film.sheet_rolls),
        bound=f"{film.bound:,}",
        gap=trn("{n} roll", "{n} rolls", gap),
    )


def _saved(told: OrderTold, when: When) -> str:
    if told.saved is None:
        return tr("not saved yet")
    who, role, at, seq = told.saved
    return tr(
        "saved by {who}, {role}, {when}, entry {seq}",
        who=who,
        role=tr(role),
        when=when(at),
        seq=f"{seq:,}",
    )


def _block(told: OrderTold, saved: str) -> tuple[tuple[str, str], ...]:
    rolls, units = told.rolls, told.units
    film = _roll_words(rolls.width_nm, rolls.length_nm, units)
    tape = _roll_words(rolls.tape_width_nm, rolls.tape_length_nm, units)
    if not rolls.tape_stated:
        tape = tr("{roll} (common practice, no source)", roll=tape)
    return (
        (tr("Project"), told.project),
        (tr("Film"), f"{rolls.film.name}: {film}" if rolls.film else film),
        (tr("Tape"), f"{rolls.tape.name}: {tape}" if rolls.tape else tape),
        (tr("Patches expected"), _repairs_words(told)),
        (tr("Zones"), ", ".join(zone.letter for zone in told.gathered.zones)),
        (tr("Choices"), saved),
    )


def _repairs_words(told: OrderTold) -> str:
    repairs = told.order.asked.repairs
    if not repairs.per_1000ft2_m:
        return tr("none counted")
    return tr(
        "{n} in 1,000 sq ft, {size} each",
        n=f"{repairs.per_1000ft2_m / 1000:g}",
        size=say_sides(repairs.length_nm, repairs.width_nm, told.units, "up"),
    )


def _roll_words(width_nm: int, length_nm: int, units: Units) -> str:
    return tr(
        "rolls {width} wide, {length} long",
        width=say_distance(width_nm, units),
        length=say_distance(length_nm, units),
    )


# --- what to order ----------------------------------------------------------------------------------------


def _to_order(told: OrderTold) -> Part:
    order, asked = told.order, told.order.asked
    film = order.film
    how = (
        (film.sheet_rolls, tr("for sheets")),
        (film.collar_rolls, tr("opened for collars and dams")),
        (film.repair_rolls, tr("opened for expected repairs")),
    )
    parts = tuple(f"{count:,} {words}" for count, words in how if count)
    rows = (
        _count_row(tr("Film, rolls"), film.counts, parts, asked.film_allowance_mpct),
        _count_row(
            tr("Tape, rolls"),
            order.tape.counts,
            (tape_run(order.tape.total_nm, told.units),),
            asked.tape_allowance_mpct,
        ),
    )
    heads = (
        tr("What"), tr("Needed"), tr("Allowance, apart"), tr("Taken off stock"), tr("To order"),
        tr("Left on site"),
    )  # fmt: skip
    table = Table(tr("Rolls to order"), heads, (1.3, 1.6, 1.2, 1.2, 1, 1), rows)
    return Part(
        "to-order",
        tr("To order"),
        strong=tuple(_strong(told)),
        lines=(
            tr("Needed, and the allowance beside it, less what is taken off stock, is what to order."),
            tr("An allowance that the last roll's rest covers adds no roll."),
        ),
        tables=(table,),
    )


def _count_row(what: str, counts: ToOrder, how: Sequence[str], allowance_mpct: int) -> Row:
    return Row(
        (
            cell(what),
            cell(f"{counts.needed:,}", *how),
            cell(f"{counts.allowance:,}", share(allowance_mpct)),
            cell(f"{counts.stock:,}"),
            cell(f"{counts.to_order:,}"),
            cell(f"{counts.left_over:,}"),
        )
    )


def _strong(told: OrderTold) -> Iterator[str]:
    """What must not be overread."""
    for fault in told.order.faults:
        yield tr(FAULT_WORDS[fault])
    if told.order.film.unserved:
        yield tr(
            "No roll of this film gives the piece for: {tags}.", tags=", ".join(told.order.film.unserved)
        )
    if told.stock_is_old:
        yield tr("Film came or was laid since the stock on site was counted: count it again.")
    if told.gathered.other_film:
        letters = sorted({told.letters[id] for of in told.gathered.other_film for id in of.zone_ids})
        yield tr(
            "Laid out for another film than the one ordered here: {letters}.",
            letters=", ".join(letters),
        )


def _left_out(told: OrderTold) -> Iterator[Part]:
    """What this list does not hold, so that nobody takes it for all of the slab."""
    gathered = told.gathered
    lines = [
        tr(words, letters=_letters(zones))
        for words, zones in (
            (later("No layout yet, so not in this order: {letters}."), gathered.without),
            (
                later("The layout no longer fits the zone as outlined, so not in this order: {letters}."),
                gathered.stale,
            ),
            (later("Placed already: {letters}."), gathered.placed),
        )
        if zones
    ]
    if gathered.done:
        lines.append(trn("Laid already: {n} sheet.", "Laid already: {n} sheets.", gathered.done))
    if lines:
        yield Part("left-out", tr("Not in this list"), lines=tuple(lines))


def _letters(zones: Sequence[Zone]) -> str:
    return ", ".join(zone.letter for zone in zones)


# --- by delivery and by zone -------------------------------------------------------------------------------


def _delivery(told: OrderTold, index: int, when: When) -> Part:
    delivery = told.order.deliveries[index]
    lines = [tr("Zones: {letters}.", letters=letters_of(told, delivery.zone_ids))]
    at = next((of.at for of in told.deliveries if of.label == delivery.label), None)
    if at is not None:
        lines.append(tr("Comes {when}.", when=when(at)))
    film, tape = delivery.film.to_order, delivery.tape.to_order
    lines.append(
        tr("Order for it {film} and {tape}.", **_rolls(film, tape))
        if film or tape
        else tr("Nothing is to be ordered for it.")
    )
    table = cut_table(told.order, index, told.units)
    return Part(
        f"delivery-{index + 1}",
        tr("Cut plan: {delivery}", delivery=label_of(delivery.label))
        if told.order.asked.deliveries
        else tr("Cut plan"),
        lines=tuple(lines),
        tables=(table,) if table.rows else (),
    )
