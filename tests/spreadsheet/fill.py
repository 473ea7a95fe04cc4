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
    # as by hand, so that formats of cells and guesses at dates have their say
    frame = book.CurrentController.Frame
    typist = context.ServiceManager.createInstanceWithContext(
        "com.sun.star.frame.DispatchHelper", context
    )
    for line in (folder / "cells.tsv").read_text(encoding="utf-8").splitlines():
        sheet, cell, typed = line.split("\t")
        place = option("ToPoint", f"${sheet}.{cell}")
        typist.executeDispatch(frame, ".uno:GoToCell", "", 0, (place,))
        typist.executeDispatch(frame, ".uno:EnterString", "", 0, (option("StringName", typed),))
    target = (folder / "filled.xlsx").as_uri()
    book.storeToURL(target, (option("FilterName", "Calc MS Excel 2007 XML"),))
    try:
        desktop.terminate()
    except Exception:
        pass  # some versions end when they close the book


def main():
    folder = Path(sys.argv[1]).resolve()
    pipe = f"perchline-{os.getpid()}"
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    program = subprocess.Popen(
        [
            "soffice",
            "--headless",
            "--norestore",
            "--nologo",
            profile,
            f"--accept=pipe,name={pipe};urp;",
        ],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    try:
        fill(folder, connect(pipe))
        try:
            program.wait(20)
        except subprocess.TimeoutExpired:
            pass  # it has saved; it is ended below
    finally:
        try:
            os.killpg(program.pid, signal.SIGKILL)  # the program is a child of a script
        except ProcessLookupError:
            pass
    for ending in ("ods", "fods"):
        again = [program.args[0], "--headless", profile, "--convert-to", ending, "--outdir"]
        subprocess.run(
            [*again, str(folder), str(folder / "filled.xlsx")],
            check=True,
            timeout=120,
            stdout=subprocess.DEVNULL,
        )


main()
