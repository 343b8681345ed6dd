"""Django finds a package's tables here; this file only imports them."""

from fraginv.base.models.codes import Code, OldCode, PrintedSize
from fraginv.base.models.files import StoredFile
from fraginv.base.models.keeping import NumberSeries, ReplayKey
from fraginv.base.models.loads import TableLoad, Upload, UploadProblem
from fraginv.base.models.organisation import Organisation
from fraginv.base.models.parties import Party
from fraginv.base.models.people import Person
from fraginv.base.models.tallies import Tally
from fraginv.base.models.words import Word

__all__ = [
    "Code",
    "PrintedSize",
    "NumberSeries",
    "OldCode",
    "Organisation",
    "Party",
    "Person",
    "ReplayKey",
    "StoredFile",
    "TableLoad",
    "Tally",
    "Upload",
    "UploadProblem",
    "Word",
]
