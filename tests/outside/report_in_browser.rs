//! The report as a reader meets it, in a browser without a window.

use serde_json::{Value, json};
use std::fmt::Write;
use std::fs;
use std::path::PathBuf;
use tempfile::TempDir;

use crate::browser;
use crate::run;
use browser::{Page, found};
use run::{perchline, survey};

/// Two trails that nothing places, one of them without a bearing, and one that comes back.
const THREE: &str = "trail,anchor,tape_m,bearing_deg,height_m,support,note\n\
    B,0,,,1.0,trunk,\nB,1,3.1,20,0.1,litter,\nB,2,4.2,95,0.2,litter,\nB,3,2.8,170,2.1,trunk,high\n\
    A,0,,,0.5,rock,\nA,1,12.0,220,0.0,litter,\nA,2,3.0,300,1.5,branch,\n\
    C,0,,,0.0,,\nC,1,2.0,,0.5,,\n";

/// The report of a survey of these anchors, in a folder of its own.
fn report(anchors: &str, settings: &str) -> (TempDir, PathBuf) {
    let folder = survey(anchors);
    fs::write(folder.path().join("survey/survey.toml"), settings).unwrap();
    let output = perchline(folder.path(), &["rebuild", "survey", "--draws", "0"]);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let page = folder.path().join("survey-results/report.html");
    (folder, page)
}

const PICTURE: &str = "document.getElementById('canvas').toDataURL()";

/// The middle of what a selector finds, brought into the window.
fn middle(page: &mut Page, selector: &str) -> [f64; 2] {
    let place = page.says(&format!(
        "(() => {{ const e = document.querySelector('{selector}'); \
         e.scrollIntoView({{block: 'center', behavior: 'instant'}}); \
         const b = e.getBoundingClientRect(); \
         return [b.left + b.width / 2, b.top + b.height / 2]; }})()"
    ));
    [0, 1].map(|axis| place[axis].as_f64().unwrap())
}

fn click(page: &mut Page, selector: &str) {
    let at = middle(page, selector);
    page.mouse("mousePressed", at, true);
    page.mouse("mouseReleased", at, true);
    page.drawn();
}

/// Does something, and tells whether the drawing looks different afterwards.
fn changes(page: &mut Page, act: impl FnOnce(&mut Page)) -> bool {
    page.drawn();
    let before = page.says(PICTURE);
    act(page);
    page.drawn();
    before != page.says(PICTURE)
}

#[test]
fn the_paths_are_turned_and_put_away() {
    let Some(browser) = found() else { return };
    let (_folder, file) = report(THREE, "name = \"Three\"\n");
    let page = &mut Page::open(&browser, &file, [1280, 900]);
    page.picture("three");
    assert!(!changes(page, |_| {}), "the drawing changes by itself");
    assert!(changes(page, |page| click(page, "#trail-1")), "a trail goes off");
    assert!(changes(page, |page| click(page, "#trail-1")), "and comes back");

    let [x, y] = middle(page, "#canvas");
    let turned = changes(page, |page| {
        page.mouse("mousePressed", [x, y], true);
        page.mouse("mouseMoved", [x + 60.0, y + 20.0], true);
        page.mouse("mouseReleased", [x + 60.0, y + 20.0], true);
    });
    assert!(turned, "dragging turns the paths");
    page.says("document.getElementById('canvas').focus({preventScroll: true})");
    for key in ["ArrowLeft", "ArrowUp", "+", "1", "2", "3", "4", "5", "6"] {
        assert!(changes(page, |page| page.press(key)), "the key {key}");
    }

    assert_eq!(page.complaints(), [""; 0]);
}

#[test]
fn an_anchor_is_read_and_a_path_walked() {
    let Some(browser) = found() else { return };
    let (_folder, file) = report(THREE, "name = \"Three\"\n");
    let page = &mut Page::open(&browser, &file, [1280, 900]);
    page.says("document.getElementById('canvas').focus({preventScroll: true})");
    page.press("n");
    let read = page.says("document.getElementById('tip').innerText");
    assert!(read.as_str().unwrap().starts_with("B, anchor 0"), "{read}");
    let aloud = page.says("document.getElementById('reading').textContent");
    assert!(aloud.as_str().unwrap().contains("support trunk"), "{aloud}");
    page.press("Escape");

    let [x, y] = middle(page, "#canvas");
    page.mouse("mouseMoved", [x, y], false);
    page.drawn();
    let place = page.says("[...perchline.space.view.screen].slice(9, 11)");
    let [dx, dy] = [0, 1].map(|axis| place[axis].as_f64().unwrap());
    let size = page.says("perchline.space.view.size");
    let half = [0, 1].map(|axis| size[axis].as_f64().unwrap() / 2.0);
    page.mouse("mouseMoved", [x + dx - half[0], y + dy - half[1]], false);
    page.drawn();
    let hover = page.says("document.getElementById('tip').innerText");
    assert!(hover.as_str().unwrap().contains("note high"), "{hover}");

    let walked = changes(page, |page| {
        page.says(
            "(() => { const w = document.getElementById('walk'); w.value = 5; \
             w.dispatchEvent(new Event('input')); })()",
        );
    });
    assert!(walked, "the walk moves");
    let reading = page.says("document.getElementById('reading').textContent");
    assert!(reading.as_str().unwrap().starts_with("B: 5.00 m of 10"), "{reading}");
    for colouring in ["trail", "support", "section", "uncertainty"] {
        let coloured = changes(page, |page| {
            page.says(&format!(
                "(() => {{ const c = document.getElementById('colour'); c.value = '{colouring}'; \
                 c.dispatchEvent(new Event('change')); }})()"
            ));
        });
        assert!(coloured || colouring == "section", "{colouring}");
    }
    assert_eq!(page.complaints(), [""; 0]);
}

/// Turning angles alone have no compass: buttons and words say ahead, right, back and left.
#[test]
fn without_a_north_nobody_looks_north() {
    let Some(browser) = found() else { return };
    let free =
        "trail,anchor,tape_m,turn_deg,bearing_deg,height_m\nT,0,,,,1\nT,1,4,,,1\nT,2,5,60,,2\n";
    let needle = "B,0,,,,1\nB,1,4,,20,1\nB,2,5,,80,2\n";
    let looks =
        "[...document.querySelectorAll('#panel button')].slice(0, 6).map(b => b.innerText).join()";
    let compass = "From above,Looking north,Looking east,Looking south,Looking west,Aslant";
    let body = "From above,Looking ahead,Looking right,Looking back,Looking left,Aslant";
    let (_folder, file) = report(free, "");
    let page = &mut Page::open(&browser, &file, [1280, 900]);
    assert_eq!(page.says(looks), body);
    let legend = page.says("document.getElementById('legend').innerText");
    assert!(legend.as_str().unwrap().contains("ahead is from the release"), "{legend}");
    assert_eq!(page.says("perchline.aheadWords(-2) + perchline.aheadWords(95)"), "aheadright");
    // With a trail that has a north beside it, until that one is put away.
    let (_folder, file) = report(&format!("{free}{needle}"), "");
    let page = &mut Page::open(&browser, &file, [1280, 900]);
    assert_eq!(page.says(looks), compass);
    let net = "[...document.querySelectorAll('#panel .tick')].find(tick => \
               tick.innerText.startsWith('net')).querySelector('input').click()";
    assert!(!changes(page, |page| drop(page.says(net))), "one net for both would lend its north");
    page.says(net);
    click(page, "#trail-0");
    assert!(changes(page, |page| drop(page.says(net))), "a net under what has a north");
    click(page, "#trail-0");
    click(page, "#trail-1");
    assert_eq!(page.says(looks), body);
    assert_eq!(page.complaints(), [""; 0]);
}

#[test]
fn a_press_on_a_head_sorts_and_another_turns_round() {
    let Some(browser) = found() else { return };
    let (_folder, file) = report(THREE, "");
    let page = &mut Page::open(&browser, &file, [1280, 900]);
    let column = |page: &mut Page| {
        page.says("[...document.querySelectorAll('#trails-table tbody th')].map(c => c.innerText)")
    };
    assert_eq!(column(page), json!(["B", "A", "C"]));
    click(page, "#trails-table thead th:nth-child(1) button");
    assert_eq!(column(page), json!(["A", "B", "C"]));
    click(page, "#trails-table thead th:nth-child(1) button");
    assert_eq!(column(page), json!(["C", "B", "A"]));
    let head = "document.querySelector('#trails-table thead th').getAttribute('aria-sort')";
    assert_eq!(page.says(head), "descending");
    // By number: 15 m, 10.1 m, 2 m of thread.
    click(page, "#trails-table thead th:nth-child(4) button");
    assert_eq!(column(page), json!(["C", "B", "A"]));
    assert_eq!(page.says(head), "none");
    assert_eq!(page.complaints(), [""; 0]);
}

#[test]
fn dark_narrow_and_on_paper() {
    let Some(browser) = found() else { return };
    let (_folder, file) = report(THREE, "");
    let page = &mut Page::open(&browser, &file, [1280, 900]);
    let paper = "getComputedStyle(document.body).backgroundColor";
    let light = page.says(paper);
    assert!(changes(page, |page| page.scheme("dark")), "the drawing turns dark");
    assert_ne!(page.says(paper), light);
    page.picture("dark");
    page.resize([400, 800]);
    page.picture("narrow");
    assert_eq!(page.says("document.documentElement.scrollWidth"), 400);
    // Figures keep the size of their letters; a finger moves them.
    let figures = "[...document.querySelectorAll('.picture svg')].every((svg) => \
                   svg.getBoundingClientRect().width > 600)";
    assert_eq!(page.says(figures), true);
    let canvas = page.says("document.getElementById('canvas').clientWidth");
    assert!(canvas.as_f64().unwrap() > 300.0, "{canvas}");
    for [width, height] in [[8.27, 11.69], [8.5, 11.0]] {
        let paper = json!({"paperWidth": width, "paperHeight": height, "printBackground": true});
        let printed = page.ask("Page.printToPDF", &paper);
        assert!(printed["data"].as_str().unwrap().len() > 20_000);
    }
    // On paper the drawing is white and keeps its shape, whatever that was on the screen.
    let corner = "(() => { dispatchEvent(new Event('beforeprint')); const drawn = \
                  document.getElementById('canvas').getContext('2d').getImageData(2, 2, 1, 1); \
                  dispatchEvent(new Event('afterprint')); return [...drawn.data]; })()";
    assert_eq!(page.says(corner), json!([255, 255, 255, 255]));
    page.ask("Emulation.setEmulatedMedia", &json!({"media": "print"}));
    let shape = "(() => { const canvas = document.getElementById('canvas'); canvas.width = 900; \
                 canvas.height = 300; const { width, height } = canvas.getBoundingClientRect(); \
                 return width / height; })()";
    let shape = page.says(shape).as_f64().unwrap();
    assert!((shape - 3.0).abs() < 0.05, "{shape}");
    page.ask("Emulation.setEmulatedMedia", &json!({"media": ""}));
    // What was folded away for the screen is folded again.
    assert_eq!(page.says("document.querySelector('#settings details').open"), false);
    assert_eq!(page.complaints(), [""; 0]);
}

/// The demo, whose tables are as wide as they come.
#[test]
fn no_table_scrolls_sideways_and_figures_have_their_own_letters() {
    let Some(browser) = found() else { return };
    let folder = TempDir::new().unwrap();
    let demo = concat!(env!("CARGO_MANIFEST_DIR"), "/demo/dormice");
    let output = perchline(folder.path(), &["rebuild", demo, "--out", "r", "--draws", "20"]);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let page = &mut Page::open(&browser, &folder.path().join("r/report.html"), [1200, 900]);
    let scrolls = "[...document.querySelectorAll('.wide')].filter((e) => e.scrollWidth > \
                   e.clientWidth).map((e) => e.querySelector('table').id)";
    assert_eq!(page.says(scrolls), json!([]));
    let letters = "document.fonts.ready.then(() => [...document.fonts].map((face) => \
                   `${face.family} ${face.weight} ${face.status}`))";
    let expected = ["normal", "bold"].map(|w| format!("DejaVu Sans Condensed {w} loaded"));
    assert_eq!(page.says(letters), json!(expected));
    page.picture("demo");
    page.scheme("dark");
    middle(page, "#canvas");
    page.picture("demo-dark");
    assert_eq!(page.complaints(), [""; 0]);
}

#[test]
fn a_name_with_markup_is_text() {
    let Some(browser) = found() else { return };
    let evil = "<script>alert(1)</script><img src=x onerror=alert(2)>";
    let end = "</script><svg onload=alert(3)>";
    let arabic = "سنجاب";
    let anchors = format!(
        "trail,anchor,tape_m,bearing_deg,height_m,support,note\n\
         {evil},0,,,1.0,{end},\n{evil},{arabic},3.1,20,0.1,{evil},{end}\n"
    );
    let (_folder, file) = report(&anchors, &format!("name = '{evil}'\nsite = '{end}'\n"));
    let page = &mut Page::open(&browser, &file, [1280, 900]);
    assert_eq!(page.says("document.querySelector('h1').textContent"), evil);
    assert_eq!(page.says("document.title"), evil);
    assert_eq!(page.says("document.querySelectorAll('script').length"), 2);
    assert_eq!(
        page.says(
            "document.querySelectorAll('img, [onload], [onerror], svg:not(.picture > svg)').length"
        ),
        0
    );
    page.says("document.getElementById('canvas').focus({preventScroll: true})");
    page.press("n");
    page.press("n");
    let read = page.says("document.getElementById('tip').innerText");
    assert!(read.as_str().unwrap().starts_with(&format!("{evil}, anchor {arabic}")), "{read}");
    assert_eq!(
        page.says("document.getElementById('tip').querySelectorAll('*:not(strong, span)').length"),
        0
    );
    assert_eq!(page.complaints(), [""; 0]);
}

/// Heads, names and captions that a screen reader goes by.
const UNNAMED: &str = "(() => {
    const wrong = [];
    const all = (selector) => [...document.querySelectorAll(selector)];
    let last = 0;
    all('h1, h2, h3').forEach((head) => {
        const level = Number(head.tagName[1]);
        if (level > last + 1) wrong.push(`a level is left out before ${head.textContent}`);
        last = level;
    });
    if (all('h1').length !== 1) wrong.push('not one h1');
    all('table').forEach((table) => {
        if (!table.caption) wrong.push(`${table.id} has no caption`);
        if (table.querySelector('thead th:not([scope=col]), tbody th:not([scope=row])'))
            wrong.push(`${table.id} has heads without scope`);
    });
    all('input, select').forEach((control) => control.labels.length || wrong.push(`${control.id} has no label`));
    all('button').forEach((button) => button.textContent.trim() || wrong.push('a button without words'));
    all('[aria-labelledby], [aria-describedby]').forEach((element) => {
        for (const name of ['aria-labelledby', 'aria-describedby']) {
            const id = element.getAttribute(name);
            if (id && !document.getElementById(id)) wrong.push(`${id} is not there`);
        }
    });
    const ids = all('[id]').map((element) => element.id).filter((id) => id);
    if (new Set(ids).size !== ids.length) wrong.push('an id twice');
    if (!document.getElementById('canvas').getAttribute('aria-label')) wrong.push('the drawing has no words');
    all('a[href]').forEach((link) => {
        if (!document.querySelector(link.getAttribute('href'))) wrong.push(`${link.href} leads nowhere`);
    });
    return wrong;
})()";

#[test]
fn a_screen_reader_finds_names_and_heads() {
    let Some(browser) = found() else { return };
    let (_folder, file) = report(THREE, "");
    let page = &mut Page::open(&browser, &file, [1280, 900]);
    assert_eq!(page.says(UNNAMED), json!([]));
    // The keyboard reaches the drawing, and what has the focus is seen to have it.
    page.says("document.getElementById('canvas').focus({preventScroll: true})");
    page.press("Tab");
    let now = "document.activeElement !== document.getElementById('canvas') && \
               getComputedStyle(document.activeElement).outlineStyle !== 'none'";
    assert_eq!(page.says(now), true);
}

/// The script's formulas against values worked out by hand.
#[test]
fn the_script_computes_what_it_says() {
    let Some(browser) = found() else { return };
    let (_folder, file) = report(THREE, "");
    let page = &mut Page::open(&browser, &file, [1280, 900]);
    let mut is = |expression: &str, expected: Value| {
        let rounded = format!(
            "(() => {{ const p = perchline; const r = (v) => typeof v === 'number' ? \
             Math.round(v * 1e6) / 1e6 + 0 : Array.isArray(v) ? v.map(r) : v; \
             return r({expression}); }})()"
        );
        assert_eq!(page.says(&rounded).to_string(), expected.to_string(), "{expression}");
    };
    // Looking north, east is to the right and up is up; looking east, south is to the right.
    let camera = |azimuth: u32, tilt: u32| {
        format!(
            "{{axes: p.axesOf({{azimuth: {azimuth}, tilt: {tilt}}}), target: [1, 0, 0], scale: 10}}"
        )
    };
    is(&format!("p.projected({}, [2, 3, 4])", camera(0, 0)), json!([10, -40, 3]));
    is(&format!("p.projected({}, [2, 3, 4])", camera(90, 0)), json!([-30, -40, 1]));
    is(&format!("p.projected({}, [2, 3, 4])", camera(0, 90)), json!([10, -30, -4]));
    is("[0.7, 1, 4.9, 5, 99, 0.021].map(p.roundStep)", json!([0.5, 1, 2, 5, 50, 0.02]));
    is("p.compassWords(-44) + p.compassWords(181)", json!("north-westsouth"));
    is("p.placeAt([0, 2, 2, 6], 3).leg + p.placeAt([0, 2, 2, 6], 3).share", json!(2.25));
    is("p.placeAt([0], 0).share", json!(0));
    is("p.placeAt([0, 4], 9).share", json!(1));
    is("p.nearest([0, 0, 0, 5, 5, 0], [4, 4], 16, () => true)", json!(1));
    is("p.nearest([0, 0, 0, 5, 5, 0], [4, 4], 1, () => true)", json!(-1));
    is("p.between(['#000000', '#ffffff'], 0.5)", json!("#808080"));
    is("p.sortKey('≥ 60.3').value", json!(60.3));
    is("p.sortKey('-0.5 g').value", json!(-0.5));
    is("p.sortKey('2025-09-06').kind", json!(1));
    let order = "[['–', '10', '9', 'b10', 'b9'].map(p.sortKey).sort((a, b) => \
                 p.compareKeys(a, b, true)).map((key) => key.value)]";
    is(order, json!([["b10", "b9", 10, 9, 0]]));
    // Boxes beside each other do not overlap.
    let boxes = "(() => { const b = [3, 9, 1, 4, 2].map((s) => ({low: [-s, 0], high: [s, s]})); \
                 const o = p.sideBySide(b, 1); const at = b.map((x, k) => [x.low[0] + o[k][0], \
                 x.high[0] + o[k][0], x.low[1] + o[k][1], x.high[1] + o[k][1]]); \
                 return at.every((a, i) => at.every((c, j) => i === j || a[1] < c[0] || c[1] < a[0] \
                 || a[3] < c[2] || c[3] < a[2])); })()";
    is(boxes, json!(true));
    // The scale bar is as long as it says: 10 m at this scale.
    is(
        "(() => { const v = p.space.view; const c = {axes: v.axes(), target: v.target, scale: \
        v.scale}; const [a, b] = [[0, 0, 0], c.axes.across.map((x) => 10 * x)].map((q) => \
        p.projected(c, q)); return (b[0] - a[0]) / v.scale; })()",
        json!(10),
    );
}

/// A long winding trail of many legs.
fn winding(legs: usize) -> String {
    let mut anchors =
        String::from("trail,anchor,tape_m,bearing_deg,height_m,support\nL,0,,,0.0,litter\n");
    for leg in 1..=legs {
        let (bearing, height) = ((leg * 37) % 360, (leg % 11) as f64 * 0.4);
        writeln!(anchors, "L,{leg},4.6,{bearing},{height:.1},s{}", leg % 7).unwrap();
    }
    anchors
}

/// A picture of many legs, while it is turned, is made of few lines of many pieces: what it costs is
/// the lines it strokes. How long that takes on this machine is told and not judged.
#[test]
fn five_thousand_legs_turn_smoothly() {
    let Some(browser) = found() else { return };
    let (_folder, file) = report(&winding(5_000), "");
    assert!(fs::metadata(&file).unwrap().len() < 3_000_000);
    let page = &mut Page::open(&browser, &file, [1280, 900]);
    let cost = page.says(
        "(() => { const { view, drawNow } = perchline.space; \
         const context = document.getElementById('canvas').getContext('2d'); \
         const stroke = context.stroke; let strokes = 0; \
         context.stroke = () => { strokes += 1; stroke.call(context); }; \
         const once = () => { view.azimuth += 3; drawNow(true); context.getImageData(0, 0, 1, 1); }; \
         once(); once(); strokes = 0; const start = performance.now(); \
         for (let k = 0; k < 30; k += 1) once(); \
         return [strokes / 30, (performance.now() - start) / 30]; })()",
    );
    eprintln!("a picture of 5,000 legs: [lines stroked, milliseconds] {cost}");
    assert!(cost[0].as_f64().unwrap() < 400.0, "{cost}");
    page.picture("long");
}
