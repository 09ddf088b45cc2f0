"""A drawing as a whole SVG document: title, description, and inks for paper and for a dark screen."""

from __future__ import annotations

import zlib

from lubberline.publish.style import style_element
from lubberline.publish.svg import safe

FONTS = "system-ui, 'Segoe UI', Roboto, 'Helvetica Neue', Arial, 'Libertinus Serif', sans-serif"
DARK_SCREEN = "@media screen and (prefers-color-scheme:dark)"
BAND = {"light": "#9db8cc", "dark": "#39536a"}


def document(
    title: str, description: str, size: tuple[float, float], inside: str, *, theme: str = "light"
) -> str:
    """An SVG document with `<title>` and `<desc>`, no script, no outside resource.

    Args:
        title: its name.
        description: what it shows, in words, for whoever does not see it.
        size: width and height.
        inside: markup that is safe; besides the classes of flights' figures `interval` is a band.
        theme: 'light' for paper, 'dark', or 'auto' as the screen wants it.
    """
    prefix = f"d{zlib.crc32(f'{title}|{description}'.encode('utf-8', 'replace')):08x}"
    width, height = size
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" id="{prefix}" viewBox="0 0 {width:g} {height:g}" '
        f'width="{width:g}" height="{height:g}" role="img" aria-labelledby="{prefix}-title {prefix}-desc" '
        f'font-family="{FONTS}">\n<title id="{prefix}-title">{safe(title)}</title>\n'
        f'<desc id="{prefix}-desc">{safe(description)}</desc>\n{_styles(prefix, theme)}\n'
        f'<rect class="paper" width="100%" height="100%"/>\n{inside}\n</svg>\n'
    )


def _styles(prefix: str, theme: str) -> str:
    band = f"#{prefix} .interval{{fill:{BAND['light']};stroke:none}}"
    if theme == "light":
        return f"{style_element(prefix, dark=False)}\n<style>{band}</style>"
    band += f"\n{DARK_SCREEN}{{#{prefix} .interval{{fill:{BAND['dark']}}}}}"
    both = f"{style_element(prefix, dark=True)}\n<style>{band}</style>"
    return both if theme == "auto" else both.replace(DARK_SCREEN, "@media all")
