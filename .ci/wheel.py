"""What travels in the wheel: notebooks without their outputs, which the package makes anew, and the demo jobs."""

import json
import tempfile
from pathlib import Path

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class Notebooks(BuildHookInterface):
    """Puts the notebooks into the wheel, each as its cells alone."""

    def initialize(self, version, build_data):
        """Write the notebooks without outputs, and have them included; built packages and Jupyter's copies stay out."""
        if version != "standard":  # an editable install reads the checkout
            return
        place = Path(self.root) / "notebooks"
        self.bare = tempfile.TemporaryDirectory()
        for path in sorted(place.glob("*.ipynb")):
            book = json.loads(path.read_text(encoding="utf-8"))
            for cell in book["cells"]:
                if cell["cell_type"] == "code":
                    cell |= {"outputs": [], "execution_count": None}
            bare = Path(self.bare.name) / path.name
            bare.write_text(json.dumps(book, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
            build_data["force_include"][str(bare)] = f"deckcalc/_notebooks/{path.name}"
        for path in sorted(place.glob("demo_*/*")):
            if path.suffix in (".csv", ".toml"):
                build_data["force_include"][str(path)] = f"deckcalc/_notebooks/{path.relative_to(place).as_posix()}"

    def finalize(self, version, build_data, artifact_path):
        """Remove what was written for the build."""
        if version == "standard":
            self.bare.cleanup()
