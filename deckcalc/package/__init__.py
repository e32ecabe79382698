"""The filed package: its documents, what is bound in them, the pages for the crew."""
