"""The guide's chapters as their authors left them, and the commands in them."""

import re
import shlex
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
CHAPTERS = ROOT / "addon" / "dryfit" / "guide" / "chapters"
README = ROOT / "README.md"
PIPELINE = ROOT / "scripts" / "examples" / "pipeline.md"
for place in (ROOT / "scripts", ROOT / "scripts" / "guide"):
    sys.path.insert(0, str(place))


def chapter_texts():
    """Every chapter's text by its name."""
    return {path.stem: path.read_text("utf8") for path in sorted(CHAPTERS.glob("*.md"))}


def blocks(text, language):
    """The contents of the fenced blocks of one language."""
    return re.findall(rf"^```{language}\n(.*?)^```", text, re.M | re.S)


def commands():
    """Every command line of guide and README, as words, each once: of its chapters and of the page it includes too."""
    lines = [line for text in chapter_texts().values() for block in blocks(text, "sh") for line in block.splitlines()]
    lines += [
        line.strip()
        for page in (PIPELINE, README)
        for line in page.read_text("utf8").splitlines()
        if re.match(r"    (dryfit|dask|blender) ", line)
    ]
    lines += re.findall(r"`(dryfit [^`\s]+ [^`\n]+|blender [^`\n]*dryfit [^`\n]+)`", README.read_text("utf8"))
    bare = [re.sub(r"\[[^]]*\]", "", re.split(r"\s{3,}|\s+#", line)[0]) for line in lines]
    return [shlex.split(line) for line in dict.fromkeys(line.strip() for line in bare if line.strip())]


def door_of(words):
    """What runs a command: ``blend`` with Blender's module, ``script``, ``cluster``, or ``here``."""
    if words[0] == "python3":
        return "script"
    if words[0] == "dask" or "dask" in words:
        return "cluster"
    return "blend" if any(word.endswith(".blend") for word in words) else "here"


def arguments(words):
    """What the command line is given by a command, in a shell or inside Blender."""
    return words[words.index("dryfit") + 1 :]
