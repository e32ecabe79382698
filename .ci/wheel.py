"""What travels in the wheel: notebooks without their outputs, which the package makes anew, and the demo jobs."""

import json
import tempfile
from pathlib import Path

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class Notebooks(BuildHookInterface):
    """Puts the notebooks into the wheel, each as its cells alone."""

    def initialize(self, version, build_data):
        """Write the notebooks without outputs, and have them included."""
        if version != "standard":  # an editable install reads the checkout
            return
        place = Path(self.root) / "notebooks"
        bare = Path(tempfile.mkdtemp())
        for path in sorted(place.rglob("*")):
            if path.suffix == ".ipynb":
                book = json.loads(path.read_text(encoding="utf-8"))
                for cell in book["cells"]:
                    if cell["cell_type"] == "code":
                        cell |= {"outputs": [], "execution_count": None}
                (bare / path.name).write_text(json.dumps(book, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
                build_data["force_include"][str(bare / path.name)] = f"deckcalc/_notebooks/{path.name}"
            elif path.suffix in (".csv", ".toml"):
                build_data["force_include"][str(path)] = f"deckcalc/_notebooks/{path.relative_to(place).as_posix()}"
