"""Fills a workbook as a person would, in LibreOffice, and saves it as .xlsx and .ods.

Usage: fill.py FOLDER, which holds survey.xlsx and cells.tsv: sheet, cell, what is typed.
Writes filled.xlsx, filled.ods and filled.fods into the same folder.
"""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import uno
from com.sun.star.beans import PropertyValue


def option(name, value):
    made = PropertyValue()
    made.Name, made.Value = name, value
    return made


def connect(pipe):
    resolver = uno.getComponentContext().ServiceManager.createInstance(
        "com.sun.star.bridge.UnoUrlResolver"
    )
    address = f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext"
    for _ in range(240):
        try:
            return resolver.resolve(address)
        except Exception:
            time.sleep(0.25)
    raise SystemExit("LibreOffice did not answer within a minute")


def fill(folder, context):
    desktop = context.ServiceManager.createInstanceWithContext(
        "com.sun.star.frame.Desktop", context
    )
    address = (folder / "survey.xlsx").as_uri()
    book = desktop.loadComponentFromURL(address, "_blank", 0, (option("Hidden", True),))
    for line in (folder / "cells.tsv").read_text(encoding="utf-8").splitlines():
        sheet, cell, typed = line.split("\t")
        book.Sheets.getByName(sheet).getCellRangeByName(cell).setFormula(typed)
    for ending, kind in (
        ("xlsx", "Calc MS Excel 2007 XML"),
        ("ods", "calc8"),
        ("fods", "OpenDocument Spreadsheet Flat XML"),
    ):
        target = (folder / f"filled.{ending}").as_uri()
        book.storeToURL(target, (option("FilterName", kind),))
    book.close(True)
    try:
        desktop.terminate()
    except Exception:
        pass  # it may be gone before it answers


def main():
    folder = Path(sys.argv[1]).resolve()
    pipe = f"perchline-{os.getpid()}"
    program = subprocess.Popen(
        [
            "soffice",
            "--headless",
            "--norestore",
            "--nologo",
            f"-env:UserInstallation={(folder / 'profile').as_uri()}",
            f"--accept=pipe,name={pipe};urp;",
        ],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    try:
        fill(folder, connect(pipe))
        program.wait(60)
    finally:
        try:
            os.killpg(program.pid, signal.SIGKILL)  # the program is a child of a script
        except ProcessLookupError:
            pass


main()
