// One picture of the paths on a canvas. In: what stands where, and how it is looked at.

const MANY_LEGS = 1500; // with more, what crosses in front is not set off, and lines are hair-thin while turned
const FROM_SIDE = 12; // degrees of tilt within which heights can be read off
const DOTS = 2500; // with more, anchors are not marked
const SLICES = 16; // of depth, within which many legs are drawn colour by colour while turned

// Dashes: what was followed, the escape run, what could not be followed, and what has no direction of its own.
const SOLID = [];
const ESCAPE = [6, 4];
const GAP = [1.5, 5];
const ASSUMED = [0.1, 5];

// Lines of one colour in one go.
function strokeLines(context, lines, colour, width, dash) {
  context.beginPath();
  lines((x1, y1, x2, y2) => {
    context.moveTo(x1, y1);
    context.lineTo(x2, y2);
  });
  context.strokeStyle = colour;
  context.lineWidth = width;
  context.setLineDash(dash);
  context.stroke();
  context.setLineDash([]);
}

// A net of metres on the lowest ground, under what is shown.
function drawGrid(context, { camera, middle, palette, box, floor }) {
  const step = roundStep(Math.max(70 / camera.scale, 1e-3));
  const ends = [0, 1].map((axis) => [
    Math.floor(box.low[axis] / step) * step, Math.ceil(box.high[axis] / step) * step]);
  const place = (e, n) => {
    const [x, y] = projected(camera, [e, n, floor]);
    return [middle[0] + x, middle[1] + y];
  };
  const count = ends.map(([low, high]) => Math.round((high - low) / step));
  if (count[0] + count[1] > 400) return step;
  strokeLines(context, (line) => {
    for (let k = 0; k <= count[0]; k += 1) {
      const e = ends[0][0] + k * step;
      line(...place(e, ends[1][0]), ...place(e, ends[1][1]));
    }
    for (let k = 0; k <= count[1]; k += 1) {
      const n = ends[1][0] + k * step;
      line(...place(ends[0][0], n), ...place(ends[0][1], n));
    }
  }, palette.line, 1, SOLID);
  return step;
}

// Heights beside a look from the side.
function drawHeights(context, { camera, middle, palette, box, floor, stretch, size }) {
  const step = roundStep(Math.max(60 / (camera.scale * stretch), 1e-3));
  const most = Math.min(Math.ceil((box.high[2] - floor) / stretch / step), 60);
  context.fillStyle = palette.quiet;
  context.textAlign = 'left';
  context.textBaseline = 'bottom';
  strokeLines(context, (line) => {
    for (let k = 0; k <= most; k += 1) {
      const y = middle[1] + projected(camera, [camera.target[0], camera.target[1], floor + k * step * stretch])[1];
      line(0, y, size[0], y);
      context.fillText(roundMetres(k * step), 6, y - 2);
    }
  }, palette.line, 1, SOLID);
}

// Drop lines to the ground, and the trace of the path on it.
function drawGround(context, { scene, shown, screen, feet, palette, drops, hair }) {
  const each = (draw) => scene.legs.forEach((leg) => shown[leg.trail] && draw(leg));
  strokeLines(context, (line) => each(({ from, to }) => {
    line(feet[3 * from], feet[3 * from + 1], feet[3 * to], feet[3 * to + 1]);
  }), palette.trace, hair ?? 1.5, SOLID);
  if (!drops) return;
  strokeLines(context, (line) => scene.points.forEach((point, at) => {
    if (!shown[point.trail] || point.height < scene.above) return;
    line(screen[3 * at], screen[3 * at + 1], feet[3 * at], feet[3 * at + 1]);
  }), palette.trace, hair ?? 0.8, SOLID);
}

// The slice of the depth in which each leg lies, 0 the nearest.
function slices(depths) {
  const [near, far] = [depths.reduce((a, b) => Math.min(a, b)), depths.reduce((a, b) => Math.max(a, b))];
  return depths.map((depth) => Math.floor((SLICES * (depth - near)) / (far - near || 1)));
}

// The legs, the farthest first. Few are set off one by one from what they cross; of many, those that
// follow each other in one style are drawn in one go, and while turned a slice of the depth at a time.
function drawLegs(context, { scene, shown, screen, colours, palette, order, walked, hair }) {
  const { legs } = scene;
  const depths = Float64Array.from(legs, ({ from, to }) => screen[3 * from + 2] + screen[3 * to + 2]);
  const there = order.filter((at) => shown[legs[at].trail]);
  const slice = hair ? slices(depths) : depths;
  const far = there.sort((a, b) => slice[b] - slice[a] || colours.of[a] - colours.of[b]);
  const styles = legs.map((leg, at) => ({
    colour: colours.colours[colours.of[at]],
    second: colours.colours[(colours.then ?? colours.of)[at]],
    width: hair ?? (leg.trail === walked ? 3.4 : 2.4),
    dash: leg.gap ? GAP : leg.assumed ? ASSUMED : leg.escape ? ESCAPE : SOLID,
  }));
  const same = (a, b) => a.colour === b.colour && a.second === b.second && a.width === b.width && a.dash === b.dash;
  const lines = (run, start, colour, width, dash) => strokeLines(context, (line) => run.forEach((at) => {
    const { from, to } = legs[at];
    const mix = (k) => screen[3 * from + k] + start * (screen[3 * to + k] - screen[3 * from + k]);
    line(mix(0), mix(1), screen[3 * to], screen[3 * to + 1]);
  }), colour, width, dash);
  const stroke = (run, { colour, second, width, dash }) => {
    lines(run, 0, colour, width, dash);
    if ((second ?? colour) !== colour) lines(run, 0.5, second, width, dash);
  };
  context.lineCap = 'round';
  if (far.length <= MANY_LEGS) {
    far.forEach((at) => {
      const style = styles[at];
      context.lineCap = 'butt';
      stroke([at], { colour: palette.paper, width: style.width + 2.6, dash: SOLID });
      context.lineCap = 'round';
      stroke([at], style);
    });
    return;
  }
  context.lineCap = 'butt';
  for (let start = 0, end = 1; end <= far.length; end += 1) {
    if (end < far.length && same(styles[far[start]], styles[far[end]])) continue;
    stroke(far.slice(start, end), styles[far[start]]);
    start = end;
  }
}

// Marks as in the figures: a triangle at the release, a disc where the animal was found, a ring where
// the thread ended without it; dots at other anchors where there is room.
function drawAnchors(context, { scene, shown, screen, palette, camera }) {
  const visible = scene.points.filter((point) => shown[point.trail]).length;
  const roomy = scene.meanLeg * camera.scale > 14 && visible <= DOTS;
  const mark = (point, outline, x, y) => {
    context.beginPath();
    outline(x, y);
    context.fillStyle = point.first || (point.last && !point.seen) ? palette.paper : palette.ink;
    context.strokeStyle = palette.ink;
    context.lineWidth = 1.6;
    context.fill();
    context.stroke();
  };
  const disc = (radius) => (x, y) => context.arc(x, y, radius, 0, 2 * Math.PI);
  const triangle = (x, y) => {
    context.moveTo(x, y - 6);
    context.lineTo(x + 5.4, y + 3.6);
    context.lineTo(x - 5.4, y + 3.6);
    context.closePath();
  };
  const draw = (releases) => scene.points.forEach((point, at) => {
    if (!shown[point.trail] || Boolean(point.first) !== releases) return;
    const [x, y] = [screen[3 * at], screen[3 * at + 1]];
    if (point.first) mark(point, triangle, x, y);
    else if (point.seen) mark(point, disc(3.4), x, y);
    else if (point.last) mark(point, disc(3.8), x, y);
    else if (roomy) mark(point, disc(0.9), x, y);
  });
  // An animal found where it was released does not hide its release.
  draw(false);
  draw(true);
}

// Text that stands out from any line behind it.
function haloText(context, text, x, y, palette) {
  context.lineJoin = 'round';
  context.lineWidth = 4;
  context.strokeStyle = palette.paper;
  context.strokeText(text, x, y);
  context.fillStyle = palette.ink;
  context.fillText(text, x, y);
}

// Names at the releases; one that would lie on another is left out.
function drawNames(context, { scene, shown, screen, palette, font }) {
  context.font = `600 12px ${font}`;
  context.textAlign = 'left';
  context.textBaseline = 'middle';
  const taken = [];
  scene.trails.forEach((trail, at) => {
    if (!shown[at]) return;
    const [x, y] = [screen[3 * trail.first] + 8, screen[3 * trail.first + 1] - 9];
    const name = trail.name.length > 24 ? `${trail.name.slice(0, 23)}…` : trail.name;
    const text = trail.oriented ? name : `${name} (no north)`;
    const width = context.measureText(text).width;
    const hits = taken.some((box) => x < box[0] + box[2] + 4 && box[0] < x + width + 4 && Math.abs(y - box[1]) < 14);
    if (hits) return;
    taken.push([x, y, width]);
    haloText(context, text, x, y, palette);
  });
}

// A round length that is right everywhere in the picture, and what the net and the heights measure.
function drawScale(context, { camera, palette, size, step, stretch, font }) {
  const length = roundStep(Math.min(130, size[0] / 4) / camera.scale);
  const pixels = length * camera.scale;
  const [x, y] = [16, size[1] - 18];
  const bar = (draw) => {
    draw(x, y, x + pixels, y);
    draw(x, y - 5, x, y + 5);
    draw(x + pixels, y - 5, x + pixels, y + 5);
  };
  context.lineCap = 'butt';
  strokeLines(context, bar, palette.paper, 6, SOLID);
  strokeLines(context, bar, palette.ink, 2, SOLID);
  context.font = `12px ${font}`;
  context.textAlign = 'left';
  context.textBaseline = 'bottom';
  const net = step ? `, net ${roundMetres(step)}` : '';
  const high = stretch === 1 ? '' : `, heights × ${stretch}`;
  haloText(context, roundMetres(length) + net + high, x, y - 7, palette);
}

// Whether some trail that is shown has a north.
const hasNorth = ({ scene, shown }) => scene.trails.some(({ oriented }, at) => shown[at] && oriented);

// Whether all that are shown have one; the net on the ground would lend its own to those without.
const allHaveNorth = ({ scene, shown }) => scene.trails.every(({ oriented }, at) => !shown[at] || oriented);

// The compass, lying on the ground; from the side, the direction looked in; without a north no compass.
function drawNorth(context, { scene, shown, camera, palette, size, font }) {
  const oriented = hasNorth({ scene, shown });
  const [x, y, radius] = [size[0] - 44, 46, 24];
  const { across, up } = camera.axes;
  context.font = `600 12px ${font}`;
  context.textBaseline = 'middle';
  if (Math.abs(camera.tilt) < FROM_SIDE) {
    context.textAlign = 'right';
    const words = oriented ? compassWords(camera.azimuth) : aheadWords(camera.azimuth);
    haloText(context, `looking ${words}`, size[0] - 14, 22, palette);
    return;
  }
  if (!oriented) return;
  const place = (e, n) => [x + radius * (e * across[0] + n * across[1]), y - radius * (e * up[0] + n * up[1])];
  context.beginPath();
  for (let k = 0; k <= 40; k += 1) {
    const turn = (k / 40) * 2 * Math.PI;
    context.lineTo(...place(Math.sin(turn), Math.cos(turn)));
  }
  context.strokeStyle = palette.quiet;
  context.lineWidth = 1;
  context.stroke();
  context.beginPath();
  context.moveTo(...place(0, 1));
  context.lineTo(...place(0.28, -0.5));
  context.lineTo(...place(0, -0.25));
  context.lineTo(...place(-0.28, -0.5));
  context.closePath();
  context.fillStyle = palette.ink;
  context.fill();
  context.textAlign = 'center';
  haloText(context, 'N', ...place(0, 1.42), palette);
}

// Where the walk has come to, and the anchor that is read.
function drawMarks(context, { walker, read, screen, palette }) {
  if (walker) {
    strokeLines(context, (line) => line(...walker.at, ...walker.foot), palette.ink, 1.4, SOLID);
    context.beginPath();
    context.arc(...walker.at, 6.5, 0, 2 * Math.PI);
    context.fillStyle = palette.accent;
    context.fill();
    context.strokeStyle = palette.paper;
    context.lineWidth = 2;
    context.stroke();
  }
  if (read >= 0) {
    context.beginPath();
    context.arc(screen[3 * read], screen[3 * read + 1], 8, 0, 2 * Math.PI);
    context.strokeStyle = palette.accent;
    context.lineWidth = 2.5;
    context.stroke();
  }
}

// The whole picture.
function drawPicture(context, view) {
  const { palette, size, camera } = view;
  context.fillStyle = palette.paper;
  context.fillRect(0, 0, ...size);
  let step = null;
  if (view.box) {
    context.font = `12px ${view.font}`;
    const fromSide = Math.abs(camera.tilt) < FROM_SIDE;
    if (fromSide && view.level) drawHeights(context, view);
    else if (view.grid && !fromSide && allHaveNorth(view)) step = drawGrid(context, view);
    drawGround(context, view);
    drawLegs(context, view);
    drawAnchors(context, view);
    drawMarks(context, view);
    if (view.names) drawNames(context, view);
  }
  drawScale(context, { ...view, step });
  drawNorth(context, view);
}
