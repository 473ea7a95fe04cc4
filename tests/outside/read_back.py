"""Opens every export of the demo in GDAL, and its archive with a reader of CSV on the Web; writes
what each made of it to read_back.json beside.

pip install pyogrio pyproj shapely lxml csvw fastkml; python read_back.py PERCHLINE DEMO
KML is held against the schema of OGC, which fastkml brings along, GPX against that of Topografix
where it can be fetched.
"""

import json
import pathlib
import subprocess
import sys
import tempfile
import urllib.request
import zipfile

import csvw
import fastkml
import pyogrio
import pyproj
import shapely
from lxml import etree

program, demo = sys.argv[1:]
folder = pathlib.Path(tempfile.mkdtemp())
geod = pyproj.Geod(ellps="WGS84")
found = {"versions": {"pyogrio": pyogrio.__version__, "GDAL": ".".join(map(str, pyogrio.__gdal_version__)),
                      "csvw": csvw.__version__, "lxml": etree.__version__}}


def run(*arguments):
    subprocess.run([program, *arguments, "--quiet"], check=True, cwd=folder)


def layers(name):
    for layer, kind in pyogrio.list_layers(folder / name):
        meta, _, geometry, fields = pyogrio.raw.read(folder / name, layer=layer)
        yield layer, kind, meta, geometry, dict(zip(meta["fields"], fields))


def length(geometry):
    total = 0.0
    for line in shapely.get_parts(shapely.from_wkb(geometry)):
        x, y = shapely.get_coordinates(line).T
        total += geod.line_length(x, y)
    return total


run("rebuild", demo, "--out", "r", "--draws", "0", "--tables-only")
for ending in ("gpkg", "geojson", "kml", "gpx", "csv"):
    run("export", demo, "--out", f"d.{ending}", "--draws", "0")
    seen = found[ending] = {}
    for layer, kind, meta, geometry, fields in layers(f"d.{ending}"):
        if ending == "kml" and len(seen) > 3:
            continue
        seen[str(layer)] = {"kind": str(kind), "crs": meta["crs"], "features": len(geometry)}
        if ending == "gpkg" and layer == "legs":
            stated = fields["horizontal_m"]
            # at 612 m the horizontal length is longer than the geodesic by the height over the radius
            off = [abs(length(g) * (1 + 612 / 6_371_000) - m) for g, m in zip(geometry, stated) if m == m]
            seen[str(layer)]["geodesic_against_horizontal_m"] = round(max(off), 4)

kml = pathlib.Path(fastkml.__file__).parent / "schema/ogckml22.xsd"
gpx = "https://www.topografix.com/GPX/1/1/gpx.xsd"
for name, source in (("kml", kml.as_uri()), ("gpx", gpx)):
    try:
        schema = etree.XMLSchema(etree.parse(urllib.request.urlopen(source, timeout=20), base_url=source))
        schema.assertValid(etree.parse(folder / f"d.{name}"))
        found[name]["schema"] = "valid"
    except (OSError, etree.LxmlError) as error:
        found[name]["schema"] = f"{type(error).__name__}: {str(error)[:120]}"

run("archive", demo, "--out", "d.zip", "--draws", "0", "--licence", "CC-BY-4.0")
with zipfile.ZipFile(folder / "d.zip") as archive:
    assert archive.testzip() is None
    archive.extractall(folder / "d")
subprocess.run(["sha256sum", "--quiet", "--check", "SHA256SUMS"], check=True, cwd=folder / "d")
group = csvw.CSVW(str(folder / "d/csv-metadata.json"))
tables = {table.url.string if hasattr(table.url, "string") else str(table.url): sum(1 for _ in table)
          for table in group.tables}
found["csvw"] = {"valid": bool(group.is_valid), "tables": len(tables), "rows": tables}
(pathlib.Path(__file__).parent / "read_back.json").write_text(json.dumps(found, indent=1) + "\n")
print(json.dumps(found, indent=1))
