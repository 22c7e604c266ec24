"""The shelf's page in Flask over SQLite, to compare with: the same rows and columns out of the same file, who asks found out by
the same session, one template. Served as

    SHELF=…/thrumhall.sqlite gunicorn --workers 2 flask_shelf:app
"""
import hashlib
import os
import sqlite3
import time

from flask import Flask, abort, g, render_template_string, request

app = Flask(__name__)
ROWS = """
SELECT b.id, b.tag, b.kind, b.colour_name, b.colour_hex, b.colour_family, b.second_name, b.second_hex, b.state, b.note, b.place,
    b.strip_width_nm, b.balance_mg
FROM bundle b WHERE b.balance_mg > 0 ORDER BY b.tag DESC LIMIT 100
"""
SUMS = "SELECT kind, state, COUNT(*) AS bundles, SUM(balance_mg) AS mass FROM bundle WHERE balance_mg > 0 GROUP BY kind, state"
WHO = """
SELECT p.name, p.role, w.name AS workroom FROM session s JOIN person p ON p.id = s.person_id CROSS JOIN workroom w
WHERE s.token_hash = ? AND s.expires_at > ?
"""
PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>Shelf</title><link rel="stylesheet" href="/static/style.css"></head>
<body><header><b class="house-name">{{ who.workroom }}</b> {{ who.name }}, {{ who.role }}</header>
<main><h1>The shelf</h1>
<table><thead><tr><th>Tag<th>Colour<th>Cloth<th>Left<th>State<th>Place<th>Note</tr></thead><tbody>
{% for b in rows %}
<tr>
  <th scope="row" data-value="{{ b.tag }}"><a href="/cloth/{{ b.id }}">{{ b.tag }}</a></th>
  <td data-label="Colour" data-value="{{ b.colour_family }} {{ b.colour_name }}"><svg class="swatch" viewBox="0 0 24 24"><rect
    width="24" height="24" fill="{{ b.colour_hex }}"/></svg> {{ b.colour_name }}{% if b.second_name %}, {{ b.second_name }}{% endif %}</td>
  <td data-label="Cloth">{{ b.kind }}{% if b.strip_width_nm %} strips{% endif %}</td>
  <td data-label="Left" class="num" data-value="{{ b.balance_mg }}">{{ weight(b.balance_mg) }}</td>
  <td data-label="State"><span class="badge">{{ b.state }}</span></td>
  <td data-label="Place">{{ b.place }}</td>
  <td data-label="Note" class="small quiet note">{{ b.note }}</td>
</tr>
{% endfor %}
</tbody></table>
<table><tbody>{% for s in sums %}<tr><th>{{ s.kind }}<td>{{ s.state }}<td>{{ s.bundles }}<td>{{ weight(s.mass) }}</tr>{% endfor %}</tbody></table>
</main></body></html>
"""


def database():
    if "database" not in g:
        g.database = sqlite3.connect(os.environ["SHELF"])
        g.database.row_factory = sqlite3.Row
    return g.database


@app.teardown_appcontext
def close(_):
    if found := g.pop("database", None):
        found.close()


def weight(mass):
    ounces = round(mass / 28349.523125 * 2) / 2
    return f"{int(ounces // 16)} lb {ounces % 16:g} oz"


@app.get("/cloth")
def shelf():
    secret = request.cookies.get("thrumhall", "")
    held = hashlib.sha256(secret.encode()).hexdigest()
    who = database().execute(WHO, (held, int(time.time() * 1e6))).fetchone()
    if not who:
        abort(401)
    rows, sums = database().execute(ROWS).fetchall(), database().execute(SUMS).fetchall()
    return render_template_string(PAGE, who=who, rows=rows, sums=sums, weight=weight)
