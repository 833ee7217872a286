"""Offers are kept for what they hold, and never given for something else."""

from dataclasses import replace

from bayhelper.run.parts import build_library
from bayhelper.sheets.bodies import load_body
from bayhelper.terms.scope import Scope

SALOON = load_body("saloon")
"""Two sheets of one id and name: before and after the boot lid was taken out of the file."""
WITHOUT_BOOT_LID = replace(
    SALOON,
    panels=tuple(panel for panel in SALOON.panels if panel.id != "boot_lid"),
    seams=tuple(seam for seam in SALOON.seams if "boot_lid" not in (seam.a, seam.b)),
)


def panel_meant(offer, *words):
    command = offer.match(words).command
    return command and command.slots.get("panel")


def test_two_bodies_of_one_id_and_name_are_each_heard_by_their_own_panels():
    library = build_library()
    said = ("buffed", "the", "boot", "lid")
    for _ in range(2):
        for body, meant in ((SALOON, "boot_lid"), (WITHOUT_BOOT_LID, None)):
            offer = library.offer(Scope(body=body, address="workshop copy"))
            assert panel_meant(offer, *said) == meant
            assert panel_meant(offer, "buffed", "the", "roof") == "roof"
            assert ("lid" in offer.words()) == (meant is not None)


def test_each_sees_its_own_seams_when_only_one_command_may_be_given():
    library = build_library()
    few = frozenset({"lapped"})
    said = "boot lid lapped to the rear bumper".split()
    offers = [
        library.offer(Scope(body=body, address="workshop copy", commands=few))
        for body in (SALOON, WITHOUT_BOOT_LID)
    ]
    assert [offer.match(said).command is not None for offer in offers] == [True, False]


def test_the_same_scope_gives_the_same_offer_also_from_another_copy_of_the_sheet():
    library = build_library()
    first, second = (
        library.offer(Scope(body=load_body("saloon"), address="workshop copy")) for _ in range(2)
    )
    assert first is second
    other = library.offer(Scope(body=SALOON, address="workshop copy", dialect="us"))
    assert other is not first
