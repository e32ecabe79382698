"""The filed package: its documents, what is bound in them, the pages for the crew."""

#: Who signs a package, in this order; the fields of the signatures bear these names.
ROLES = ("originator", "checker", "engineer")
#: What is said wherever a package is signed or its signatures are read.
LAW = "What a signature means in law, and whether this one is enough, is for the licensing board to say."
