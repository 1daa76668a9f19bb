"""Places as URIs (RFC 5870), as the run sheet's code carries them."""

from decimal import Decimal

import pytest

from jobs.actions.run_sheets import geo_uri
from jobs.models import Property


@pytest.mark.parametrize(
    ("latitude", "longitude", "uri"),
    [
        ("13.412500", "103.866700", "geo:13.4125,103.8667"),  # from memory: RFC 5870 §1, the first example
        ("22.300000", "-118.440000", "geo:22.3,-118.44"),  # from memory: RFC 5870 §3.4.4, zeros at the end say nothing
        ("90.000000", "-22.430000", "geo:90,-22.43"),  # from memory: RFC 5870 §3.4.4
        ("-41.600001", "0.000000", "geo:-41.600001,0"),  # from memory: RFC 5870 §3.3, num is digits without exponent
    ],
)
def test_a_place_is_written_as_the_standard_has_it(latitude, longitude, uri):
    assert geo_uri(Property(latitude=Decimal(latitude), longitude=Decimal(longitude))) == uri


def test_an_unknown_place_has_none():
    assert geo_uri(Property()) == ""
