"""People by name, as the tests speak of them."""

from turnwell.web.accounts.models import Role, User
from turnwell.web.offices.models import Office

__all__ = ["bea_of_birch_lane", "olga_the_owner", "theo_the_technician"]


def olga_the_owner() -> User:
    """Give the owner, made when first asked for."""
    return User.objects.filter(username="olga").first() or User.objects.create_user(
        "olga", password="a long enough word", role=Role.OWNER
    )


def theo_the_technician() -> User:
    """Give the technician, made when first asked for."""
    return User.objects.filter(username="theo").first() or User.objects.create_user(
        "theo", password="a long enough word", role=Role.TECHNICIAN
    )


def bea_of_birch_lane() -> User:
    """Give a person of the office at Birch Lane, made when first asked for."""
    office, _ = Office.objects.get_or_create(name="Birch Lane")
    return User.objects.filter(username="bea").first() or User.objects.create_user(
        "bea", password="a long enough word", role=Role.OFFICE, office=office
    )
