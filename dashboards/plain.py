"""Plain pages that need no script: signing in, and a finding on a phone over a weak network."""

from dashboards.parts.sheet import esc
from holdwatch.language import _, spoken
from holdwatch.views import words

__all__ = ["page"]

_STYLE = """
:root{--paper:#FBF8F2;--ink:#1F2A33;--rule:#D9D2C5;--deviation:#7A1F4B;--faint:#5A6268}
*{box-sizing:border-box}
body{background:var(--paper);color:var(--ink);font:1.06rem/1.4 "Source Sans 3","Source Sans Pro",system-ui,sans-serif;
 margin:0 auto;padding:.9rem;max-width:40rem;font-variant-numeric:tabular-nums}
h1{font-size:1.45rem;margin:.2rem 0 .5rem;border-bottom:2px solid var(--ink);padding-bottom:.4rem}
h2{font-size:1.15rem;margin:1rem 0 .3rem}
label{display:block;margin:.7rem 0 .2rem}
label.line,fieldset label{display:flex;gap:.6rem;align-items:center;min-height:48px;margin:0;border-top:1px solid var(--rule)}
input,select,textarea,button{font:inherit;color:inherit;width:100%;min-height:48px;padding:.5rem;background:#fff;
 border:1px solid var(--ink);border-radius:2px}
input[type=checkbox],input[type=radio]{width:26px;min-height:26px;flex:none;accent-color:var(--ink)}
button{background:var(--ink);color:var(--paper);font-weight:650;margin-top:.8rem;min-height:56px}
button.second{background:var(--paper);color:var(--ink)}
fieldset{border:0;padding:0;margin:0}
legend{font-weight:650;padding:0}
table{border-collapse:collapse;width:100%}td{border-top:1px solid var(--rule);padding:.3rem .6rem .3rem 0;vertical-align:top}
td:first-child{color:var(--faint);white-space:nowrap}
a{color:var(--deviation)}a.way{display:inline-flex;align-items:center;min-height:48px;font-weight:650}
.problem{border-left:6px solid var(--deviation);background:#F3EEE3;padding:.5rem .8rem;font-weight:650}
.said{border-left:6px solid var(--ink);background:#F3EEE3;padding:.5rem .8rem;font-weight:650}
.large{font-size:1.25rem}.quiet{color:var(--faint);font-size:.9rem;border-top:1px solid var(--rule);padding-top:.4rem}
.mark img{vertical-align:-.15em;margin-right:.35em}.hw-word{font-weight:650}.hw-word.deviation{color:var(--deviation)}.hw-word.soon{color:#855B00}
"""


def page(title: str, body: str, notice: str = "") -> str:
    """Return a whole page; `body` is HTML whose texts have been made harmless already, `notice` is plain text."""
    return (
        f'<!doctype html><html lang="{spoken()}"><head><meta charset="utf-8">'
        f'<meta name="viewport" content="width=device-width, initial-scale=1"><title>{esc(title)} · Holdwatch</title>'
        f"<style>{_STYLE}</style></head><body><h1>{esc(title)}</h1>{body}"
        f'<p class="quiet">{esc(f"{notice} {_(words.CAUTION)}".strip())}</p></body></html>'
    )
