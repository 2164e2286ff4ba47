"""The faults: what is changed where, and the tests that have to notice."""

from tests.planted.of_counts import OF_COUNTS
from tests.planted.of_figures import OF_FIGURES
from tests.planted.of_light import OF_LIGHT
from tests.planted.of_polarisation import OF_POLARISATION
from tests.planted.of_polarisers import OF_POLARISERS
from tests.planted.of_records import OF_RECORDS
from tests.planted.of_telling import OF_TELLING

FAULTS = OF_LIGHT + OF_POLARISATION + OF_POLARISERS
FAULTS += OF_RECORDS + OF_FIGURES + OF_TELLING + OF_COUNTS
# One in Python, one in the kernel: what continuous integration plants.
QUICK = ("a jackknife without its factor g - 1", "index ratio inverted at a clear plate")
