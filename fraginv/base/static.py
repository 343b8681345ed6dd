"""Static files under names that change with their content."""

from django.contrib.staticfiles.storage import ManifestStaticFilesStorage


class HashedStatic(ManifestStaticFilesStorage):
    """Hash the modules that modules import as well, so that no browser keeps a stale one."""

    support_js_module_import_aggregation = True
