"""A real browser without a window, if this machine has one: it measures and prints pages."""

import html
import re
import shutil
import subprocess

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
PROGRAM = next(filter(None, map(shutil.which, NAMES)), None)
WHY_NOT = f"no browser on PATH ({', '.join(NAMES)})"


def browser():
    """Return the path of a browser on PATH; skips the test where there is none."""
    if PROGRAM is None:
        pytest.skip(WHY_NOT)
    return PROGRAM


def ask(folder, *arguments):
    """Run the browser on a profile of its own and return what it prints."""
    profile = f"--user-data-dir={folder / 'profile'}"
    flags = ("--headless", "--no-sandbox", "--disable-gpu", profile)
    done = subprocess.run(
        [browser(), *flags, *arguments], capture_output=True, text=True, timeout=120, check=True
    )
    return done.stdout


def pages_printed(page, folder):
    """Return how many sheets of paper a page takes: pages of the PDF (ISO 32000-1, 7.7.3)."""
    pdf = folder / "printed.pdf"
    ask(folder, f"--print-to-pdf={pdf}", "--no-pdf-header-footer", page.as_uri())
    return len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes()))


def too_wide(page, folder, width):
    """Return the tags of what is wider than a window, everything unfolded, and the page's width.

    A window of the browser is 500 pixels wide at least, a frame in it as wide as asked for. What
    stands in a box that scrolls by itself may be wider; the box itself may not.
    """
    source = html.escape(page.read_text(encoding="utf-8"))
    probe = folder / "probe.html"
    probe.write_text(
        f"""<meta charset="utf-8"><title></title>
        <iframe id="page" width="{width}" height="900" style="border:0" srcdoc="{source}"></iframe>
        <script>onload = () => {{
          const inside = page.contentDocument, room = page.contentWindow.innerWidth;
          inside.querySelectorAll("details").forEach(one => one.open = true);
          const wide = [...inside.querySelectorAll("body *")].filter(one =>
            !one.closest(".wide table") && one.getBoundingClientRect().right > room + 1);
          document.title = [room, inside.documentElement.scrollWidth,
            ...wide.map(one => one.tagName)].join(" ");
        }}</script>""",
        encoding="utf-8",
    )
    asked = ("--window-size=1400,1000", "--dump-dom", probe.as_uri())
    room, across, *tags = re.search("<title>(.*?)</title>", ask(folder, *asked))[1].split()
    assert int(room) == width
    return tags, int(across)
