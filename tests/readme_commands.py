"""Print the README's two set-up commands, so that CI runs just what a newcomer would."""

import re
from pathlib import Path

readme = (Path(__file__).resolve().parent.parent / "README.md").read_text(encoding="utf-8")
blocks = re.findall(r"^```bash\n(.*?)^```", readme, flags=re.MULTILINE | re.DOTALL)
commands = [line for block in blocks[:2] for line in block.splitlines()]
if len(commands) != 2:
    raise SystemExit(f"README.md: expected two one-line commands first, found {len(commands)}")
print("\n".join(commands))
