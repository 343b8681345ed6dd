"""What frags, losses and bars are known by now, read once from what was written before."""

from itertools import groupby

from django.db import migrations

from fraginv.stock.rules.events import states
from fraginv.stock.rules.happenings import Happening, Kind
from fraginv.stock.rules.ready import Pace, heal_by, likely_on

BATCH = 500


def fill(apps, schema_editor):
    model = lambda name: apps.get_model("stock", name)
    fill_frags(model)
    fill_bars(model)


def fill_frags(model):
    Frag, FragEvent = model("Frag"), model("FragEvent")
    troughs = dict(model("Rack").objects.values_list("pk", "trough_id"))
    paces = {pk: Pace(group) for pk, group in model("Variety").objects.values_list("pk", "group")}
    frags = Frag.objects.order_by("pk").iterator(chunk_size=2000)
    events = FragEvent.objects.order_by("frag_id", "seq").iterator(chunk_size=2000)
    logs = groupby(events, key=lambda event: event.frag_id)
    log_id, log = next(logs, (None, None))
    changed, losses = [], []
    for frag in frags:
        while log_id is not None and log_id < frag.pk:
            log_id, log = next(logs, (None, None))
        frag.heal_by = heal_by(frag.cut_on, pace=paces[frag.variety_id])
        frag.likely_on = likely_on(frag.cut_on, pace=paces[frag.variety_id])
        frag.quarantined_on = frag.cut_on if frag.quarantined else None
        if log_id == frag.pk:
            losses += follow_log(frag, list(log), Loss=model("Loss"), troughs=troughs)
        changed.append(frag)
        if len(changed) >= BATCH:
            write(Frag, changed, model("Loss"), losses)
            changed, losses = [], []
    write(Frag, changed, model("Loss"), losses)


def write(Frag, changed, Loss, losses):
    names = ["heal_by", "likely_on", "seen_on", "quarantined_on", "clean_checks"]
    Frag.objects.bulk_update(changed, names, batch_size=BATCH)
    Loss.objects.bulk_create(losses, batch_size=BATCH)


def follow_log(frag, log, *, Loss, troughs):
    """Set what the log says of a frag; return its losses. A log that cannot be followed says
    nothing."""
    happened = [Happening(Kind(one.kind), one.day, one.body) for one in log]
    try:
        after = list(states(happened))
    except Exception:
        if frag.quarantined:
            frag.quarantined_on = max([one.day for one in log], default=frag.cut_on)
        return []
    last = after[-1]
    frag.seen_on, frag.clean_checks = last.seen_on, last.clean_checks
    frag.quarantined_on = last.quarantined_on
    if frag.quarantined and frag.quarantined_on is None:
        frag.quarantined_on = frag.cut_on
    return [
        Loss(
            event_id=one.pk,
            frag_id=frag.pk,
            variety_id=frag.variety_id,
            colony_id=frag.colony_id,
            rack_id=state.rack,
            trough_id=troughs.get(state.rack),
            pieces=one.body["pieces"],
            cause=one.body["cause"],
            day=one.day,
            month=one.month,
            age_days=max((one.day - frag.cut_on).days, 0),
        )
        for one, state in zip(log, after)
        if one.kind == Kind.LOST
    ]


def fill_bars(model):
    from fraginv.base import clock

    now = clock.now()
    model("Bar").objects.bulk_create(
        model("Bar")(
            colony_id=pk, kind="authority", reason=because, by_id=None, set_at=now
        )
        for pk, because in model("Colony")
        .objects.exclude(barred_because="")
        .values_list("pk", "barred_because")
    )


class Migration(migrations.Migration):
    dependencies = [("stock", "0006_growing")]

    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
