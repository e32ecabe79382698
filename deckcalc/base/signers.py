"""Who signs a package, and what is said wherever one is signed or its signatures are read."""

#: In the order in which they sign; the fields of the signatures bear these names.
ROLES = ("originator", "checker", "engineer")
LAW = "What a signature means in law, and whether this one is enough, is for the licensing board to say."
