"""A form in a real browser without Jupyter: its own script and style in a bare page, its Python side behind a local address."""

import json
import threading
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import anywidget

#: The part of a widget's model that a form uses; `window.lost` is a kernel that has died.
PAGE = """<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Form</title>
<meta name="viewport" content="width=device-width"><link rel="icon" href="data:,"><link rel="stylesheet" href="form.css">
<style>body {{ margin: 0; background: light-dark(#fff, #15181c); color-scheme: light dark }}</style></head>
<body><main><h1 style="position: absolute; clip-path: inset(50%)">Form</h1><h2 hidden>Form</h2><div id="here"></div></main><script type="module">
import form from "./form.js";
const state = {state}, listeners = {{}};
let sent = {{}};
const model = {{
  get: (name) => state[name],
  set: (name, value) => {{ state[name] = sent[name] = value; }},
  on: (name, told) => (listeners[name] ??= []).push(told),
  off: () => {{}},
  async save_changes() {{
    if (window.lost) return;
    const asked = sent;
    sent = {{}};
    const answer = await (await fetch("ask", {{ method: "POST", body: JSON.stringify(asked) }})).json();
    const changed = Object.keys(answer).filter((name) => JSON.stringify(state[name]) !== JSON.stringify(answer[name]));
    Object.assign(state, answer);
    if (window.backwards) changed.reverse(); // they come in any order
    for (const name of changed) for (const told of listeners[`change:${{name}}`] ?? []) told();
  }},
}};
form.render({{ model, el: document.getElementById("here") }});
</script></body></html>"""


def synced(widget):
    """Return what a widget shares with its page."""
    own = {*widget.trait_names(sync=True)} - {*anywidget.AnyWidget.class_trait_names(sync=True)}
    return {name: getattr(widget, name) for name in sorted(own) if not name.startswith("_")}


@contextmanager
def served(widget):
    """Serve the page of a widget on a local address, and yield the address."""

    one_at_a_time = threading.Lock()  # as a kernel takes what it is asked

    class Handler(BaseHTTPRequestHandler):
        def give(self, body, kind):
            self.send_response(200)
            self.send_header("Content-Type", f"{kind}; charset=utf-8")
            self.end_headers()
            self.wfile.write(body.encode())

        def do_GET(self):
            state = json.dumps(synced(widget)).replace("</", "<\\/")
            found = {"/form.js": (widget._esm, "text/javascript"), "/form.css": (widget._css, "text/css")}
            self.give(*found.get(self.path, (PAGE.format(state=state), "text/html")))

        def do_POST(self):
            asked = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
            with one_at_a_time:
                widget.set_state(asked)
                answer = json.dumps(synced(widget))
            self.give(answer, "application/json")

        def log_message(self, *said):
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/"
    finally:
        server.shutdown()
        server.server_close()


def axe(page, *impacts):
    """Return what the accessibility checker finds, as short texts; of some impacts alone where they are named."""
    from pathlib import Path

    import axe_core_python

    page.evaluate(Path(axe_core_python.__file__).with_name("axe.min.js").read_text("utf-8"))
    found = page.evaluate(
        "async () => (await axe.run(document, {resultTypes: ['violations'], preload: false})).violations"
    )
    return [f"{one['id']} ({one['impact']}): {one['nodes'][0]['html'][:150]}" for one in found if one["impact"] in (impacts or (one["impact"],))]  # fmt: skip
