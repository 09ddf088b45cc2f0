"""Letters as they are on the screen: which are smaller than can be read, in a drawing's scale too."""

from typing import Any

SMALLEST_PX = 11.0
FIND = """(smallest) => {
    const found = [];
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    let looked = 0;
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
        const parent = node.parentElement;
        if (!node.data.trim() || parent.closest('script, style, noscript, .unseen, title, desc')) continue;
        if (!parent.checkVisibility({ opacityProperty: true, visibilityProperty: true })) continue;
        const range = document.createRange();
        range.selectNodeContents(node);
        const box = range.getBoundingClientRect();
        if (box.width < 2 || box.height < 2) continue;
        looked += 1;
        let px = parseFloat(getComputedStyle(parent).fontSize);
        if (parent instanceof SVGElement) {
            const scale = parent.getScreenCTM();
            px *= Math.sqrt(Math.abs(scale.a * scale.d - scale.b * scale.c));
        }
        if (px < smallest - 0.05) found.push(`${node.data.trim().slice(0, 40)}: ${px.toFixed(1)} px`);
    }
    for (const image of document.querySelectorAll('img[src^="data:image/svg+xml"]')) {
        const [kind, body] = image.src.split(/,(.*)/s);
        const text = kind.endsWith('base64') ? atob(body) : decodeURIComponent(body);
        const drawing = new DOMParser().parseFromString(text, 'image/svg+xml').documentElement;
        const [, , wide] = (drawing.getAttribute('viewBox') ?? '0 0 0 0').split(/[ ,]+/).map(Number);
        const style = getComputedStyle(image);
        const inner = image.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight);
        for (const one of drawing.querySelectorAll('text')) {
            const size = parseFloat(one.closest('[font-size]')?.getAttribute('font-size') ?? '16');
            const px = (size * inner) / wide;
            const isSmall = inner && px < smallest - 0.05;
            if (isSmall) found.push(`${one.textContent} in a picture: ${px.toFixed(1)} px`);
        }
    }
    return [looked, found];
}"""
# True once the drawings have followed their size.
ALL_LEGIBLE = f"({FIND})({SMALLEST_PX})[1].length === 0"
WIDER = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


def too_wide_px(page: Any) -> int:
    """By how much a page is wider than its screen."""
    # What stands in a page can be found before the styles that lay it out.
    page.wait_for_load_state()
    return int(page.evaluate(WIDER))


def too_small(page: Any) -> list[str]:
    """The visible texts of a page under 11 CSS pixels.

    Raises:
        AssertionError: there was no text to look at.
    """
    page.wait_for_load_state()
    looked, found = page.evaluate(FIND, SMALLEST_PX)
    assert looked > 3
    return list(found)


# Pieces of text that stand on one another, and lines that end beyond what clips them. Numerals of one drawing
# are left out: they are turned, and their boxes are larger than they.
CROWDED = """() => {
    const found = [], pieces = [];
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    const skipped = 'script, style, noscript, .unseen, title, desc, option, .cutaway, dialog:not([open])';
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
        const parent = node.parentElement;
        if (!node.data.trim() || parent.closest(skipped)) continue;
        if (!parent.checkVisibility({ opacityProperty: true, visibilityProperty: true })) continue;
        let floats = false, scrolls = false, holder = null;
        for (let one = parent; one && one !== document.body; one = one.parentElement) {
            const { position, overflowX, overflowY } = getComputedStyle(one);
            floats ||= ['fixed', 'sticky'].includes(position);
            scrolls ||= [overflowX, overflowY].some((way) => ['auto', 'scroll'].includes(way));
            if (!scrolls && ['hidden', 'clip'].includes(overflowX)) holder ??= one.getBoundingClientRect();
        }
        const range = document.createRange();
        range.selectNodeContents(node);
        for (const { left, right, top, height, width } of range.getClientRects()) {
            if (width < 2 || height < 2) continue;
            // Letters fill about the middle half of their line's box.
            const piece = {
                words: node.data.trim().slice(0, 40), svg: parent.closest('svg'),
                left: left + 1, right: right - 1, top: top + 0.25 * height, foot: top + 0.75 * height,
            };
            if (!floats && !scrolls) pieces.push(piece);
            if (!holder) continue;
            const isIn = piece.left >= holder.left && piece.right <= holder.right
                && piece.top >= holder.top && piece.foot <= holder.bottom;
            if (!isIn) found.push(`cut off: ${piece.words}`);
        }
    }
    pieces.sort((a, b) => a.top - b.top);
    pieces.forEach((a, at) => {
        for (const b of pieces.slice(at + 1)) {
            if (b.top >= a.foot) break;
            if (a.left >= b.right || b.left >= a.right || (a.svg && a.svg === b.svg)) continue;
            found.push(`${a.words} | ${b.words}`);
        }
    });
    return [pieces.length, found];
}"""


def crowded(page: Any) -> list[str]:
    """Texts of a page that stand on one another or are cut off.

    Raises:
        AssertionError: there was no text to look at.
    """
    looked, found = page.evaluate(CROWDED)
    assert looked > 3
    return sorted(set(found))
