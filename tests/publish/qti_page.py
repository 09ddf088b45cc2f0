"""A question opened in a renderer by others, answered, and scored.

The renderer is @citolab/qti-components (npm, GPL-3.0-only), in `tests/qti_renderer/`, for tests alone.
"""

import functools
import http.server
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

RENDERER = Path(__file__).parents[1] / "qti_renderer" / "node_modules" / "@citolab" / "qti-components"
PAGE = b"""<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Question</title>
<link rel="icon" href="data:,"><script type="module" src="/renderer.js"></script></head><body></body></html>
"""
OPEN = """href => {
  document.body.innerHTML = `<qti-item><item-container item-url="${href}"></item-container></qti-item>`;
}"""
# The question is inside open shadow roots.
FIND = """() => {
  const seek = root => {
    for (const one of root.querySelectorAll('*')) {
      if (one.localName === 'qti-assessment-item') return one;
      const found = one.shadowRoot && seek(one.shadowRoot);
      if (found) return found;
    }
  };
  return seek(document);
}"""
ANSWER = f"""async ([response, close]) => {{
  const item = ({FIND})();
  if (response !== null) {{
    item.resetResponses();
    item.updateResponseVariable('RESPONSE', response);
  }}
  item.processResponse();
  await new Promise(done => setTimeout(done));
  const outcome = name => item.variables.find(one => one.identifier === name)?.value;
  const shown = [...item.querySelectorAll('qti-modal-feedback')].filter(one => one.showStatus === 'on');
  const said = shown.map(one => one.textContent.trim().replace(/\\s+/g, ' '));
  if (close) shown.forEach(one => one.closeFeedback());
  return {{score: Number(outcome('SCORE')), feedback: outcome('FEEDBACK'), said}};
}}"""


class _Quiet(http.server.SimpleHTTPRequestHandler):
    def log_message(self, *words: object) -> None:
        pass


@contextmanager
def served(folder: Path, files: dict[str, bytes]) -> Iterator[str]:
    """The address of a folder with a package's files and the renderer."""
    for name, data in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
    (folder / "index.html").write_bytes(PAGE)
    (folder / "renderer.js").write_bytes((RENDERER / "cdn" / "index.js").read_bytes())
    handler = functools.partial(_Quiet, directory=str(folder))
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()


def opened(page: Any, name: str) -> None:
    """Open one question by its identifier and wait until the renderer has drawn it."""
    page.evaluate(OPEN, f"/items/{name}.xml")
    page.wait_for_function(
        f"""name => {{
          const item = ({FIND})();
          return item?.identifier === name && item.querySelector('qti-item-body')
            && item.variables.some(one => one.identifier === 'SCORE');
        }}""",
        arg=name,
    )


def answered(page: Any, response: str | None, *, close: bool = True) -> dict[str, Any]:
    """Score one answer, or with None what a person put in: score, feedback's name, texts shown.

    The feedback is closed again, unless it is to be looked at.
    """
    found: dict[str, Any] = page.evaluate(ANSWER, [response, close])
    return found
