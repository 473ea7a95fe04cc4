// Looking at points in space. The projection is parallel, so that one scale bar holds everywhere.
// Every function here depends on what it is given alone.

const RADIAN = Math.PI / 180;

// The six looks: the compass direction looked in, and how far down, degrees. Without a north the
// farthest point lies ahead of the release.
const LOOKS = [
  { name: 'From above', azimuth: 0, tilt: 90 },
  { name: 'Looking north', free: 'Looking ahead', azimuth: 0, tilt: 0 },
  { name: 'Looking east', free: 'Looking right', azimuth: 90, tilt: 0 },
  { name: 'Looking south', free: 'Looking back', azimuth: 180, tilt: 0 },
  { name: 'Looking west', free: 'Looking left', azimuth: 270, tilt: 0 },
  { name: 'Aslant', azimuth: 340, tilt: 33 },
];

// Unit vectors across the picture, up in it, and into it, of a look in degrees.
function axesOf({ azimuth, tilt }) {
  const [sa, ca] = [Math.sin(azimuth * RADIAN), Math.cos(azimuth * RADIAN)];
  const [st, ct] = [Math.sin(tilt * RADIAN), Math.cos(tilt * RADIAN)];
  return { across: [ca, -sa, 0], up: [sa * st, ca * st, ct], into: [sa * ct, ca * ct, -st] };
}

const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const moved = (a, b, by) => [a[0] + b[0] * by, a[1] + b[1] * by, a[2] + b[2] * by];

// Pixels right of and below the middle of the picture, and metres into it.
function projected({ axes, target, scale }, point) {
  const from = moved(point, target, -1);
  return [dot(from, axes.across) * scale, -dot(from, axes.up) * scale, dot(from, axes.into)];
}

// The same for many points, three numbers each, into `out`, with the middle of the picture added.
function projectAll({ axes, target, scale }, [middleX, middleY], points, out) {
  const { across, up, into } = axes;
  const x0 = middleX - scale * dot(target, across);
  const y0 = middleY + scale * dot(target, up);
  const d0 = dot(target, into);
  for (let at = 0; at < points.length; at += 3) {
    const [e, n, u] = [points[at], points[at + 1], points[at + 2]];
    out[at] = x0 + scale * (e * across[0] + n * across[1]);
    out[at + 1] = y0 - scale * (e * up[0] + n * up[1] + u * up[2]);
    out[at + 2] = e * into[0] + n * into[1] + u * into[2] - d0;
  }
}

// The box around the points that `wanted` lets through; null around none.
function boxAround(points, wanted) {
  let box = null;
  for (let at = 0; at < points.length; at += 3) {
    if (!wanted(at / 3)) continue;
    box ??= { low: [Infinity, Infinity, Infinity], high: [-Infinity, -Infinity, -Infinity] };
    for (let axis = 0; axis < 3; axis += 1) {
      box.low[axis] = Math.min(box.low[axis], points[at + axis]);
      box.high[axis] = Math.max(box.high[axis], points[at + axis]);
    }
  }
  return box;
}

// Target and scale that bring the wanted points into a picture of this size.
function fitted(axes, points, wanted, { width, height, margin }) {
  const box = boxAround(points, wanted);
  if (!box) return { target: [0, 0, 0], scale: 20 };
  const target = box.low.map((low, axis) => (low + box.high[axis]) / 2);
  let [right, below] = [0.5, 0.5]; // a single anchor is not brought nearer than a metre
  const camera = { axes, target, scale: 1 };
  for (let at = 0; at < points.length; at += 3) {
    if (!wanted(at / 3)) continue;
    const [x, y] = projected(camera, [points[at], points[at + 1], points[at + 2]]);
    right = Math.max(right, Math.abs(x));
    below = Math.max(below, Math.abs(y));
  }
  const room = (size) => Math.max(size / 2 - margin, 10);
  return { target, scale: Math.min(room(width) / right, room(height) / below) };
}

// 1, 2 or 5 times a power of ten, the greatest not above `most`.
function roundStep(most) {
  const power = 10 ** Math.floor(Math.log10(most));
  const times = [5, 2, 1].find((step) => step * power <= most * (1 + 1e-9));
  return (times ?? 1) * power;
}

// Metres as the page's tables print them.
function metres(value) {
  const size = Math.abs(value);
  return `${value.toFixed(size < 9.995 ? 2 : size < 999.5 ? 1 : 0)} m`;
}

// A round number of metres without needless zeros.
const roundMetres = (value) => `${Number(value.toPrecision(3))} m`;

// The eighth of a turn nearest to an azimuth, from 0.
const eighth = (azimuth) => Math.round((((azimuth % 360) + 360) % 360) / 45) % 8;

// The compass direction in words.
function compassWords(azimuth) {
  const names = ['north', 'north-east', 'east', 'south-east', 'south', 'south-west', 'west',
    'north-west'];
  return names[eighth(azimuth)];
}

// The same without a north: from the release the farthest point lies ahead.
function aheadWords(azimuth) {
  const names = ['ahead', 'ahead and right', 'right', 'back and right', 'back', 'back and left', 'left',
    'ahead and left'];
  return names[eighth(azimuth)];
}

// Which of the wanted points lies nearest to a place in the picture; -1 beyond `reach` pixels.
function nearest(screen, [x, y], reach, wanted) {
  let [best, least] = [-1, reach * reach];
  for (let at = 0; at < screen.length; at += 3) {
    const away = (screen[at] - x) ** 2 + (screen[at + 1] - y) ** 2;
    if (away < least && wanted(at / 3)) [best, least] = [at / 3, away];
  }
  return best;
}

// How far along the thread each point of a trail lies, leg by leg in walking order.
function alongThread(legs, lengthOf) {
  const starts = [0];
  legs.forEach((leg) => starts.push(starts.at(-1) + lengthOf(leg)));
  return starts;
}

// The leg walked at `distance`, and the share of it that is walked.
function placeAt(starts, distance) {
  let [low, high] = [0, Math.max(starts.length - 2, 0)];
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (starts[middle] <= distance) low = middle;
    else high = middle - 1;
  }
  const length = (starts[low + 1] ?? starts[low]) - starts[low];
  const share = length > 0 ? Math.min(Math.max((distance - starts[low]) / length, 0), 1) : 0;
  return { leg: low, share };
}

// Offsets east and north that lay boxes out in rows, the first in the north-west. `aspect` is how
// much wider than high the whole should become.
function sideBySide(boxes, aspect) {
  const sides = boxes.map(({ low, high }) => [high[0] - low[0], high[1] - low[1]]);
  const mean = sides.reduce((sum, [wide, long]) => sum + wide + long, 0) / (2 * boxes.length);
  const gap = Math.max(0.35 * mean, 1);
  const area = sides.reduce((sum, [wide, long]) => sum + (wide + gap) * (long + gap), 0);
  const widest = Math.max(...sides.map(([wide]) => wide));
  const row = Math.max(widest, Math.sqrt(area * aspect) * 1.1);
  let [x, y, longest] = [0, 0, 0];
  return boxes.map(({ low, high }, at) => {
    const [wide, long] = sides[at];
    if (x > 0 && x + wide > row) [x, y, longest] = [0, y - longest - gap, 0];
    const offset = [x - low[0], y - high[1]];
    x += wide + gap;
    longest = Math.max(longest, long);
    return offset;
  });
}
