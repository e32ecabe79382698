"""The filed package: its documents, what is bound in them, the pages for the crew."""

#: Who signs a package, in this order; the fields of the signatures bear these names.
ROLES = ("originator", "checker", "engineer")
