"""What to do about a finding, in words for the bench.

No line here says that food is good or may be kept: that is for the person in charge and the local code. Work that
can hurt says so. That reheating is no cure by itself rests on heat-stable toxins (Staphylococcus aureus, Bacillus
cereus), which may survive cooking.
"""

from holdwatch.language import N_, _
from holdwatch.storage.tables import FindingKind

__all__ = ["advice"]

_HOT = N_("The pan is hot: use dry gloves and two hands, and keep splashes and steam off your skin.")
_APART = N_(
    "Do not serve it. Keep it apart and marked until the person in charge has decided, and record what was done. Reheating alone does not put right an egg or cream mixture: some toxins survive heat."
)
_GONE = N_("Discard it and record that; putting it back in the cold, or heating it, gives it no new time.")
_BY_HAND = N_("Take the temperature of the food with a clean hand thermometer and note it.")
_PROBE = N_("Check that the probe is still in the food, in the thickest place, and connected.")

_ADVICE: dict[tuple[FindingKind, str], tuple[str, ...]] = {
    (FindingKind.SOON, "cooling"): (
        (
            N_("Cool it faster now: split it into shallow pans, stir it in an ice bath, or use the blast chiller."),
            _HOT,
            N_("Note the move on the batch."),
        )
    ),
    (FindingKind.DEVIATION, "cooling"): (_APART,),
    (FindingKind.NOT_SHOWN, "cooling"): (_BY_HAND, _PROBE, N_("If nothing shows the limit was kept:"), _APART),
    (FindingKind.SOON, "cold-holding"): (
        N_("Shut the door, look at the unit, move the food to a colder one."),
        _BY_HAND,
    ),
    (FindingKind.DEVIATION, "cold-holding"): (
        (
            N_("Shut the door and look at the unit."),
            _BY_HAND,
            N_("Move to a working unit what is still cold. What is too warm:"),
            _APART,
        )
    ),
    (FindingKind.NOT_SHOWN, "cold-holding"): (_BY_HAND, _PROBE, N_("Shut the door and look at the unit.")),
    (FindingKind.SOON, "hot-holding"): (N_("Turn up and cover the hot holding."), _BY_HAND, _HOT),
    (FindingKind.DEVIATION, "hot-holding"): (_BY_HAND, _HOT, _APART),
    (FindingKind.NOT_SHOWN, "hot-holding"): (_BY_HAND, _PROBE, _HOT),
    (FindingKind.DEVIATION, "cook-eggs"): (
        (N_("Do not serve it. If it is still on the heat, cook on until a row of the table is kept."), _HOT, _BY_HAND)
    ),
    (FindingKind.NOT_SHOWN, "cook-eggs"): (N_("Cook on until a row of the table is shown."), _BY_HAND, _HOT),
    (FindingKind.DEVIATION, "reheating"): (_APART,),
    (FindingKind.NOT_SHOWN, "reheating"): (_BY_HAND, _HOT),
    (FindingKind.DEVIATION, "cumulative-time"): (_GONE,),
    (FindingKind.NOT_SHOWN, "cumulative-time"): (_BY_HAND, N_("If nothing shows how long it was out:"), _GONE),
    (FindingKind.SOON, "date-marking"): (N_("Use it up by then, or discard it; record it as ended."),),
    (FindingKind.DEVIATION, "date-marking"): (_GONE,),
    (FindingKind.NOT_SHOWN, "date-marking"): (N_("If it was gone in time, record when. If it is still there:"), _GONE),
    (FindingKind.SOON, "cumulative-time"): (N_("Use it now, or discard it; record it as ended when it is gone."),),
    (FindingKind.DEVIATION, "receiving"): (
        (
            N_(
                "Do not put it away. Refuse the delivery, or keep it apart and marked until the person in charge has decided; record which."
            ),
        )
    ),
    (FindingKind.DEVIATION, "shell-eggs"): (
        (
            N_(
                "Shut the door and look at the unit. Move the eggs to a colder unit, and let the person in charge decide."
            ),
        )
    ),
    (FindingKind.SOON, "frozen-storage"): (N_("Shut the door and look at the freezer."), _BY_HAND),
    (FindingKind.DEVIATION, "frozen-storage"): (N_("Shut the door and look at the freezer."), _BY_HAND, _APART),
}
for _process in ("ambient-cooling", "received-cooling"):  # as what was hot, but nobody can be burnt
    _ADVICE[FindingKind.SOON, _process] = (
        N_(
            "Cool it faster now: split it into shallow pans, stir it in an ice bath, or use the blast chiller. Note the move on the batch."
        ),
    )
    _ADVICE[FindingKind.DEVIATION, _process] = (_APART,)
    _ADVICE[FindingKind.NOT_SHOWN, _process] = _ADVICE[FindingKind.NOT_SHOWN, "cooling"]
for _process in ("time-control-4h", "time-control-6h", "time-control-from-room"):
    _ADVICE[FindingKind.SOON, _process] = (
        N_("Serve, sell or use it by then, or discard it; record it as ended when it is gone."),
    )
    _ADVICE[FindingKind.DEVIATION, _process] = (_GONE,)
    _ADVICE[FindingKind.NOT_SHOWN, _process] = (
        N_("If it was gone in time, record when. If it is still there, or nobody knows:"),
        _GONE,
    )
_SILENT = N_(
    "Look at the probe: battery, cable, range, broker. Until it is heard again, take the temperature of the food by hand and note it on the batch: what is not recorded cannot be shown."
)
_PROBES: dict[str, tuple[str, ...]] = {
    "signal": (_SILENT,),
    "probe-implausible": (
        (
            N_(
                "Look at the probe: plug, cable, water in it, supply. What it sends that cannot be is not judged; take the temperature of the food by hand and note it on the batch."
            ),
        )
    ),
    "probe-stuck": (
        (
            N_(
                "Hold a hand thermometer into the food beside it and note what it shows: if the two differ, the probe's readings are in doubt from the last time they agreed. Then take the probe out of use."
            ),
        )
    ),
    "probe-clock": (
        (
            N_(
                "Set the clock of the device, or let it follow a time server. Until then note the temperature of the food by hand: what cannot be dated cannot be shown."
            ),
        )
    ),
}
_REMINDERS: dict[str, tuple[str, ...]] = {
    "reminder-visit": (
        N_("Have the log of the last weeks printed and the days signed; see what the last visit asked for."),
    ),
    "reminder-days": (N_("Go over them and sign: on the page Records, or with `holdwatch days`."),),
    "reminder-unsigned": (N_("Sign what you recorded: on the page Shift, or with `holdwatch person sign`."),),
    "reminder-date-marks": (N_("Use or discard each of them today, and record it as ended."),),
    "reminder-discard-times": (
        N_("Serve, sell or use each of them by its time, or discard it, and record it as ended."),
    ),
    "reminder-checks": (
        N_(
            "Hold each probe into ice and water or boiling water, and record what it shows: on the page Records, or with `holdwatch probe check`."
        ),
    ),
}
_SYSTEM = N_("Run `holdwatch checkup` on the computer that keeps the record: it names the cure.")
_ANY = (_BY_HAND, N_("Tell the person in charge, and record what was done."))


def advice(kind: FindingKind, process: str, subject: str) -> str:
    """Return what to do about a finding of a kind, for a process, about a subject."""
    if kind is FindingKind.SYSTEM or process == "signal":
        of_itself = (_SILENT,) if subject.startswith("probe:") else (_SYSTEM,)
        sentences = (_PROBES | _REMINDERS).get(process, of_itself)
    else:
        sentences = _ADVICE.get((kind, process), _ANY)
    return " ".join(_(sentence) for sentence in sentences)
