"""What is done to many frags with the hands: dips, new mounts, gifts."""

from fraginv.stock.actions.care import dip_frags, remount_frags
from fraginv.stock.actions.counting import give_frags
from fraginv.stock.forms.parts import DipForm, GiveForm, RemountForm
from fraginv.stock.rules.stages import GIFTS, MEDIUMS
from fraginv.stock.views.many import Act, page_for

dip = page_for(
    Act(
        title="Dip",
        button="Dipped",
        form=DipForm,
        do=lambda ids, asked, by: dip_frags(ids, by=by, **asked),
        said=lambda asked: f"dipped in {asked['dip']}",
    )
)
remount = page_for(
    Act(
        title="New mount",
        button="Mounted anew",
        form=RemountForm,
        do=lambda ids, asked, by: remount_frags(ids, by=by, **asked),
        said=lambda asked: f"on a {MEDIUMS[asked['medium']].lower()} now",
    )
)
give = page_for(
    Act(
        title="Give away",
        button="Give away",
        form=GiveForm,
        do=lambda ids, asked, by: give_frags(ids, by=by, **asked),
        said=lambda asked: (
            f"given: {GIFTS[asked['why']].lower()}. No longer in the stock; what comes back "
            "all the same is received anew, under Receive"
        ),
        about="What is given leaves the stock for good: nothing here takes it back.",
    )
)
