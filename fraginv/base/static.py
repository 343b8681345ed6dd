"""Static files under names that change with their content."""

from django.contrib.staticfiles.storage import ManifestStaticFilesStorage

# A module of the house names another as ``from "./other.js"`` or ``import "./other.js"``.
OWN_MODULES = (
    "js/*.js",
    (
        (r'(?P<matched>from\s*"(?P<url>\.\.?/[^"]+)")', 'from "%(url)s"'),
        (r'(?P<matched>import\s*"(?P<url>\.\.?/[^"]+)")', 'import "%(url)s"'),
    ),
)


class HashedStatic(ManifestStaticFilesStorage):
    """Hash the modules that modules import as well, so that no browser keeps a stale one.

    Django's own switch for this reads every script; those of libraries hold
    text that looks like an import and names no file.
    """

    patterns = (*ManifestStaticFilesStorage.patterns, OWN_MODULES)
