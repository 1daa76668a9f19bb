"""Every word that the field pages' scripts say; {…} is filled in on the phone."""

from django.utils.translation import gettext as _

from jobs.models import OpeningKind


def field_words() -> dict[str, str]:
    return {**_sending(), **_walking(), **_leaving(), **_findings(), **_kinds()}


def _sending() -> dict[str, str]:
    return {
        "all_sent": _("All sent"),
        "unsent_one": _("{n} not sent yet"),
        "unsent_many": _("{n} not sent yet"),
        "sending": _("sending …"),
        "no_signal": _("no signal; it lies safe on this phone"),
        "must_sign_in": _("sign in again"),
        "office_away": _("the office does not answer; this phone tries again"),
        "sign_in_queue": _("You are signed out. Go on logging; sign in again and what is noted here is sent."),
        "sign_in_first": _("Sign in to see your visits."),
        "sign_in": _("Sign in"),
        "office_refuses": _("The office does not take it: {why} It stays on this phone."),
        "renumbered": _("Another phone was there first. New numbers: {list}"),
        "not_kept": _("This phone could not keep it. Is its memory full, or the window a private one?"),
        "not_sent": _("not sent"),
        "not_taken": _("{what}: {why}"),
        "try_again": _("Try again"),
        "throw_away": _("Throw it away"),
        "change": _("A change"),
        "ready_offline": _("Ready without a signal"),
        "not_ready_offline": _("Needs a signal once"),
        "list_as_last_seen": _("No signal: the list as it was last seen."),
        "visits_of": _("Visits of {name}"),
        "day": _("Day colours"),
        "night": _("Night colours"),
        "needs_signal": _("This needs a signal."),
    }


def _walking() -> dict[str, str]:
    return {
        "choose_space": _("Space"),
        "choose_opening": _("Opening"),
        "choose_tie": _("Ties to"),
        "none": _("none"),
        "open": _("Open"),
        "closed": _("Closed"),
        "open_n": _("{code} open"),
        "closed_n": _("{code} closed"),
        "no_opening_here": _("nothing here can close"),
        "opening_to": _("{kind} to {space} ({code})"),
        "opening_within": _("{kind} within ({code})"),
        "pass_plan": _("Plan"),
        "pass_tour": _("Tour"),
        "pass_both": _("Both"),
        "pair_of": _("pair of {number}"),
        "no_open_half": _("no open station to pair it with yet"),
        "ties_to_n": _("ties to {number}"),
        "station_n": _("Station {number}"),
        "station_in": _("Station {number} in {space}"),
        "stations_one": _("{n} station"),
        "stations_many": _("{n} stations"),
        "not_yet": _("not captured yet"),
        "log_station": _("Log station {number}"),
        "logged": _("Station {number} is logged in {space}."),
        "undo": _("Undo"),
        "undo_n": _("Undo {number}"),
        "taken_out": _("Station {number} is taken out."),
        "take_out": _("Take out"),
        "note": _("Note"),
        "note_to": _("Note to station {number}"),
        "photo": _("Picture"),
        "photo_at": _("Picture at station {number}"),
        "photo_kept": _("The picture is kept."),
        "has_photo": _("picture"),
        "keep": _("Keep"),
        "step_of": _("Plan, {step} of {all}"),
        "plan_done": _("The plan is walked to its end."),
    }


def _leaving() -> dict[str, str]:
    return {
        "leave_nothing": _("Before you leave: nothing left"),
        "leave_one": _("Before you leave: {n} thing"),
        "leave_many": _("Before you leave: {n} things"),
        "must": _("Must"),
        "should": _("Should"),
        "judged_here": _("Worked out on this phone; the office also judges distances."),
        "judged_by_office": _("The office's own walk check, just now."),
        "house_captured": _("The house is captured"),
        "leave_all_the_same": _("Musts are left. Captured all the same"),
        "already_captured": _("The office knows that the house is captured."),
        "send_first": _("Everything must be sent before."),
    }


def _findings() -> dict[str, str]:
    return {
        "no_station": _("{space} has no plan station and no tour station: go back and capture it."),
        "no_plan_station": _("{space} has no plan station: go back, open it and capture it."),
        "no_tour_station": _("{space} has no tour station: go back and capture it as a visitor should see it."),
        "closet_thin": _("{space} has fewer than two plan stations: a walk-in closet takes two or more."),
        "pair_missing": _("Station {number} has the {opening} open for the plan: capture the spot with it closed too."),
        "pair_lost": _("Station {number} is a pair of a station that is not in the log."),
        "stair_missing": _("No station on the stairs leads to {level}: capture stations on the steps."),
        "stair_out_of_sight": _(
            "Station {number} begins {level} away from the stairs: tie it in to one on the stairs."
        ),
        "shown_private": _("Station {number} shows {space}, which is private: make it a plan station."),
        "tour_in_pieces": _("The tour falls into {n} pieces; {space} is cut off."),
        "tie_in_off": _("Station {number} ties to no earlier station."),
        "station_gap": _("Stations {first} to {last} are not in the log."),
    }


def _kinds() -> dict[str, str]:
    return {f"kind_{kind.value}": str(kind.label) for kind in OpeningKind}
