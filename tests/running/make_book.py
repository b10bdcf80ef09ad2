"""Makes a small book through the actions.

Run by the tests of backup and restore in a process of its own, since a restore swaps the database
under whoever has it open.
"""

import io

from turnwell.web.running.opening import open_new_records

PAPERS = (b"%PDF-1.7 first paper", b"%PDF-1.7 second paper, a little longer")


def make_book() -> None:
    """Fill the records of TURNWELL_HOME."""
    open_new_records()
    from django.core.management import call_command

    from turnwell.web.accounts.actions import create_owner_if_none
    from turnwell.web.evidence.actions import store_file
    from turnwell.web.evidence.models import StoredFile
    from turnwell.web.handpieces.actions import HandpieceDetails, add_handpiece
    from turnwell.web.jobs.actions import take_in
    from turnwell.web.jobs.models import Job
    from turnwell.web.offices.actions import OfficeDetails, add_office

    call_command("migrate", verbosity=0, interactive=False)
    owner = create_owner_if_none()
    office = add_office(by=owner, details=OfficeDetails(name="Birch Lane"))
    details = HandpieceDetails(class_key="air_turbine_4_hole", office=office, serial="A 1")
    handpiece = add_handpiece(by=owner, details=details)
    take_in(
        by=owner,
        handpiece=handpiece,
        reason=Job.Reason.FAULT,
        complaints=(),
        complaint_words="screams",
        sterilized_by=Job.SterilizedBy.OFFICE,
    )
    for content in PAPERS:
        store_file(
            by=owner,
            kind=StoredFile.Kind.PAPER,
            content=io.BytesIO(content),
            original_name="sheet.pdf",
        )
