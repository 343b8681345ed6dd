"""What a phone is told after a scan, in a few words and with what takes it back."""

from collections.abc import Mapping
from typing import Any, Final

from django.urls import reverse

from fraginv.base.errors import NotFound
from fraginv.base.models import Code
from fraginv.base.queries.codes import get_code
from fraginv.base.rules.codes import address_path, read_code, show_code
from fraginv.front.queries.rows import listed, rows_of
from fraginv.front.queries.scans import code_meant
from fraginv.front.rules.scans import Act
from fraginv.stock.models import Colony, Frag, Rack
from fraginv.stock.queries.frags import code_now, living_of, not_for_sale
from fraginv.stock.rules.moves import Moved, say_moved
from fraginv.stock.rules.stages import CAUSES, LIVING, SIZES, TROUBLES, say_trouble

Answer = dict[str, Any]
Facts = Mapping[str, str]
NOT_READY: Final = "not ready"


def told(facts: Facts) -> Answer:
    """Return what a phone is told of a scan that was done.

    Args: ``facts`` as ``carry_out`` gives them.
    Raises: InputError or NotFound for facts that no scan left.
    Queries: 1, and 1 for a move.
    """
    act, code = act_of(facts), read_code(facts.get("code", ""))
    return {
        "ok": True,
        "act": act.value,
        "code": code,
        "shown": show_code(code),
        "name": name_of(code),
        "url": address_path(code),
        **said(act, facts),
    }


def act_of(facts: Facts) -> Act:
    """Return which act left these facts.

    Raises: NotFound for none.
    """
    try:
        return Act(facts.get("do", ""))
    except ValueError as error:
        raise NotFound("There is no such scan.") from error


def name_of(code: str) -> str:
    """Return the variety of what carries a code, or a rack's name.

    Queries: 1 for a frag, else up to 3.
    """
    frag = Frag.objects.select_related("variety").filter(code=code).first()
    if frag is not None:
        return frag.variety.name
    rack = Rack.objects.select_related("trough").filter(code=code).first()
    if rack is not None:
        return str(rack)
    colony = Colony.objects.select_related("variety").filter(code=code).first()
    return colony.variety.name if colony is not None else "A label printed ahead"


def said(act: Act, facts: Facts) -> Answer:
    """Return the words of an act that was done, and how to take it back.

    Queries: 1 for a move.
    """
    if act is Act.MOVE:
        return said_of_move(facts)
    if act is Act.LOSE:
        return said_of_loss(facts)
    if act is Act.READY:
        return said_of_grade(facts)
    if act is Act.LABEL:
        return said_of_label(facts)
    return {"said": f"{SAID[act]} {said_besides(facts)}".rstrip()}


SAID: Final = {
    Act.SEEN: "Seen, fine.",
    Act.UNLABEL: "Its label is there: no longer on the list of lost ones.",
    Act.UNREADY: "Back to growing, and not for sale.",
    Act.UNLOSE: "The loss was taken back.",
    Act.LOOK: "",
}


def said_of_move(facts: Facts) -> Answer:
    """Say where a piece stands now; back means into the rack and the hole that it came from.

    Queries: 1.
    """
    here, there = facts.get("rack", ""), facts.get("from", "")
    racks = Rack.objects.select_related("trough").filter(code__in=[here, there])
    names = {rack.code_id: str(rack) for rack in racks}
    where = names.get(here, show_code(here))
    if facts.get("stays"):
        return {"said": f"It stands in {where} already."}
    words = f"Stands in {where} now. {said_besides(facts)}".rstrip()
    if not there:
        return {"said": words}
    hole = {name: facts[name] for name in ("row", "column") if name in facts}
    back = {"act": Act.MOVE.value, "rack": there} | hole
    label = f"Put it back to {names.get(there, show_code(there))}"
    return {"said": words, "undo": back | {"label": label}}


def said_besides(facts: Facts) -> str:
    """Say what else came of putting a piece somewhere, or nothing."""
    code = (facts.get("code", ""),)
    moved = Moved(
        frags=1,
        apart=1 if facts.get("apart") else 0,
        no_hole=code if facts.get("no_hole") else (),
        no_place=code if facts.get("no_place") else (),
    )
    return say_moved(moved)


def said_of_loss(facts: Facts) -> Answer:
    """Say that a piece is written off, and how many of a lot are left."""
    cause, left = CAUSES.get(facts.get("cause", ""), ""), facts.get("left", "0")
    more = f" {left} left of this lot." if left not in ("", "0") else ""
    undo = {"act": Act.UNLOSE.value, "loss": facts.get("loss", ""), "label": "Take the loss back"}
    return {"said": f"1 piece written off: {cause}.{more}", "undo": undo}


def said_of_grade(facts: Facts) -> Answer:
    """Say at which size a piece is ready; back means to what it was before."""
    size, was = facts.get("size", ""), facts.get("was", NOT_READY)
    words = f"Ready, size {SIZES.get(size, size)}."
    if facts.get("wrong") in TROUBLES:
        words = f"{words} Look again before it is sold: {say_trouble(facts['wrong'])}."
    if was == size:
        return {"said": words}
    if was in SIZES:
        undo = {"act": Act.READY.value, "size": was, "label": f"Back to size {SIZES[was]}"}
    else:
        undo = {"act": Act.UNREADY.value, "label": "Not ready after all"}
    return {"said": words, "undo": undo}


def said_of_label(facts: Facts) -> Answer:
    """Say that a label will be printed anew."""
    if facts.get("stays"):
        return {"said": "Its label was noted as lost already."}
    undo = {"act": Act.UNLABEL.value, "label": "The label is there"}
    return {"said": "Label lost: it waits on the list to be printed anew.", "undo": undo}


def looked_up(text: str) -> Answer:
    """Return what a phone is told of something that was only looked up.

    Raises: as ``code_meant``.
    Queries: as ``code_meant``, and 1 or 2.
    """
    code = code_meant(text, racks=True)
    start = {"ok": True, "act": Act.LOOK.value, "code": code.code, "shown": show_code(code.code)}
    tell = {
        Code.Kind.FRAG: look_of_frag,
        Code.Kind.RACK: look_of_rack,
        Code.Kind.COLONY: look_of_colony,
    }.get(Code.Kind(code.kind), look_of_blank)
    return start | {"url": address_path(code.code)} | tell(code.code)


def look_of_frag(code: str) -> Answer:
    """Say how a frag or lot stands.

    Queries: 1; 2 more for a code that a frag had before.
    """
    found = rows_of(listed().filter(code=code)) or rows_of(listed().filter(code=code_now(code)))
    if not found:
        raise NotFound(f"No frag carries {show_code(code)} now. Look for it by its variety.")
    row = found[0]
    frag = row.frag
    lives = frag.stage in LIVING
    reason = not_for_sale(frag) if lives else ""
    words = [f"{frag.stage.capitalize()}, {row.count}" if lives else frag.stage.capitalize()]
    words += [say_trouble(frag.wrong)] if lives and frag.wrong else []
    words += [f"in {frag.rack}{hole_of(frag)}" if frag.rack else "not placed"] if lives else []
    sale = f"Not for sale: {reason}." if reason else ""
    return {"name": frag.variety.name, "said": f"{'; '.join(words)}. {sale}".strip()}


def hole_of(frag: Frag) -> str:
    """Return the hole in which a frag stands, where it is known."""
    return f", row {frag.hole_row}, hole {frag.hole_column}" if frag.hole_row else ""


def look_of_rack(code: str) -> Answer:
    """Say what a rack holds.

    Queries: 1.
    """
    racks = Rack.objects.select_related("trough__system").annotate(living=living_of("rack"))
    rack = racks.get(code=code)
    holes = f"{rack.rows} rows of {rack.columns} holes"
    frags = f"{rack.living} {'frag' if rack.living == 1 else 'frags'}"
    words = f"A rack in {rack.trough.system.name}: {frags}, {holes}."
    return {"name": str(rack), "said": words, "rack": code}


def look_of_colony(code: str) -> Answer:
    """Say what a colony is.

    Queries: 1.
    """
    colony = Colony.objects.select_related("variety", "rack__trough").get(code=code)
    place = f", in {colony.rack}" if colony.rack else ""
    return {"name": colony.variety.name, "said": f"A colony, {colony.state}{place}."}


def look_of_blank(code: str) -> Answer:
    """Say that a printed label stands for nothing yet."""
    kind = get_code(code).kind
    words = "A pick list." if kind == Code.Kind.LIST else "Printed ahead, not in use yet."
    return {"name": show_code(code), "said": words}


def done_path(facts: Facts) -> str:
    """Return the address at which a phone is told of a scan that was done."""
    return reverse("front:scan_done", query=dict(facts))
