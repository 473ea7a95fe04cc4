"""Makes the rasters of this folder, and rasters.json with what GDAL reads back from each.

pip install rasterio pyproj numpy; python make.py
The ground is a plane in the local frame at the origin, which falls by 12 degrees towards 200
degrees, 612 m high at the origin; integers are that plane rounded. All of it is invented.
"""

import json
import pathlib

import numpy as np
import pyproj
import rasterio
from rasterio.transform import Affine

LAT, LON, HEIGHT, ANGLE, DOWNHILL = 46.1, 14.9, 612.0, 12.0, 200.0
HERE = pathlib.Path(__file__).parent
ENU = pyproj.Transformer.from_pipeline(
    "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad +step +proj=cart +ellps=WGS84 "
    f"+step +proj=topocentric +ellps=WGS84 +lon_0={LON} +lat_0={LAT} +h_0={HEIGHT}"
)


def plane(epsg, transform, width, height, shift):
    column, row = np.meshgrid(np.arange(width) + shift, np.arange(height) + shift)
    x, y = transform * (column, row)
    lon, lat = pyproj.Transformer.from_crs(epsg, 4326, always_xy=True).transform(x, y)
    east, north, _ = ENU.transform(lon, lat, np.full_like(lon, HEIGHT))
    fall, to = np.tan(np.radians(ANGLE)), np.radians(DOWNHILL)
    return HEIGHT - fall * (east * np.sin(to) + north * np.cos(to))


def around(epsg, cell, width, height):
    """Cells whose middle is the origin, on round coordinates."""
    x, y = pyproj.Transformer.from_crs(4326, epsg, always_xy=True).transform(LON, LAT)
    west, north = x - cell * width / 2, y + cell * height / 2
    return Affine(cell, 0, round(west / cell) * cell, 0, -cell, round(north / cell) * cell)


def made(name, epsg, cell, dtype, size=(20, 16), nodata=None, bands=1, point=False, turned=0, **options):
    width, height = size
    transform = around(epsg, cell, width, height)
    if turned:
        transform = transform * Affine.rotation(turned, pivot=(width / 2, height / 2))
    z = plane(epsg, transform, width, height, 0.5).astype(dtype)
    if nodata is not None:
        z[0, :3] = nodata
    with rasterio.open(
        HERE / name, "w", driver=options.pop("driver", "GTiff"), width=width, height=height,
        count=bands, dtype=dtype, crs=options.pop("crs", f"EPSG:{epsg}"), transform=transform,
        nodata=nodata, **options,
    ) as out:
        if point:
            out.update_tags(AREA_OR_POINT="Point")
        for band in range(bands):
            out.write(z, band + 1)


def read_back(name):
    with rasterio.open(HERE / name) as raster:
        t = raster.transform
        first = t * (0.5, 0.5)
        values = raster.read(1, masked=True)
        return {
            "file": name, "epsg": raster.crs.to_epsg(), "size": [raster.width, raster.height],
            "first": list(first), "to_column": [t.a, t.d], "to_row": [t.b, t.e],
            "dtype": str(values.dtype), "compression": str(raster.compression),
            "tiled": raster.profile.get("tiled", False),
            "elevations": [None if m else float(v) for v, m in
                           zip(values.data.ravel(), np.ma.getmaskarray(values).ravel())],
        }


made("utm33_float32_deflate.tif", 32633, 10, "float32", nodata=-9999, compress="deflate", predictor=3)
made("utm32_float64_plain.tif", 32632, 10, "float64")
made("utm32_int16_lzw_tiled.tif", 32632, 10, "int16", size=(37, 35), nodata=-32768, compress="lzw",
     predictor=2, tiled=True, blockxsize=16, blockysize=16)
made("degrees_float64_deflate.tif", 4326, 0.0001, "float64", compress="deflate")
made("etrs89_uint16_packbits.tif", 25833, 10, "uint16", compress="packbits")
made("utm33_float32_big_endian_point.tif", 32633, 10, "float32", point=True, ENDIANNESS="BIG")
made("utm33_int32_bigtiff.tif", 32633, 10, "int32", BIGTIFF="YES", nodata=-1)
made("utm33_float32_turned.tif", 32633, 10, "float32", turned=30)
made("utm32_grid.asc", 32632, 10, "float64", driver="AAIGrid", nodata=-9999, DECIMAL_PRECISION=6)
made("degrees_grid.asc", 4326, 0.0001, "float64", driver="AAIGrid", DECIMAL_PRECISION=6)
# to be refused
made("other_system.tif", 3794, 10, "float32", size=(4, 4))
made("no_system.tif", 32633, 10, "float32", size=(4, 4), crs=None)
made("three_bands.tif", 32633, 10, "uint8", size=(4, 4), bands=3, photometric="RGB")
made("zstd.tif", 32633, 10, "float32", size=(4, 4), compress="zstd")
with rasterio.open(HERE / "huge.tif", "w", driver="GTiff", width=100_000, height=100_000, count=1,
                   dtype="float32", crs="EPSG:32633", transform=Affine(1, 0, 450_000, 0, -1, 5_150_000),
                   tiled=True, blockxsize=8192, blockysize=8192, compress="deflate", SPARSE_OK="TRUE"):
    pass

good = [path.name for path in sorted(HERE.iterdir()) if "_" in path.name and path.suffix in (".tif", ".asc")
        and path.name not in ("other_system.tif", "no_system.tif", "three_bands.tif")]
result = {
    "what": "small rasters of one plane and what GDAL reads back from each",
    "how_obtained": f"make.py with rasterio {rasterio.__version__}, GDAL {rasterio.__gdal_version__}, "
                    f"PROJ {rasterio.__proj_version__}",
    "latitude": LAT, "longitude": LON, "elevation_m": HEIGHT, "angle_deg": ANGLE, "direction_deg": DOWNHILL,
    "cases": [read_back(name) for name in good],
}
(HERE / "rasters.json").write_text(json.dumps(result) + "\n")
for extra in HERE.glob("*.aux.xml"):
    extra.unlink()
