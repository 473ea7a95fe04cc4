// What the colour of a leg says.

const SHADES = 24;

// The colour at `share` of the way along a list of `#rrggbb`.
function between(colours, share) {
  const place = Math.min(Math.max(share, 0), 1) * (colours.length - 1);
  const at = Math.min(Math.floor(place), colours.length - 2);
  const parts = (colour) => [1, 3, 5].map((from) => parseInt(colour.slice(from, from + 2), 16));
  const [a, b] = [parts(colours[at]), parts(colours[at + 1])];
  const mixed = a.map((part, k) => Math.round(part + (b[k] - part) * (place - at)));
  return `#${mixed.map((part) => part.toString(16).padStart(2, '0')).join('')}`;
}

// A value of every leg as one of some shades, with the bar that explains them.
function bySize(values, palette, title) {
  const known = values.filter((value) => value !== null);
  if (known.length === 0) {
    const keys = [{ colour: palette.quiet, name: 'not known' }];
    return { of: values.map(() => 0), colours: [palette.quiet], legend: { title, keys } };
  }
  const tenth = (round, value) => round(value * 10) / 10 + 0; // the bar is read, not measured
  const [low, high] = [tenth(Math.floor, known.reduce((a, b) => Math.min(a, b)) + 0.05),
    tenth(Math.ceil, known.reduce((a, b) => Math.max(a, b)))];
  const shade = (value) => (high > low ? Math.round(Math.min(Math.max((value - low) / (high - low), 0), 1) * (SHADES - 1)) : 0);
  const colours = Array.from({ length: SHADES }, (_, k) => between(palette.sizes, k / (SHADES - 1)));
  const of = values.map((value) => (value === null ? SHADES : shade(value)));
  return { of, colours: [...colours, palette.quiet], legend: { title, low, high, bar: colours } };
}

// Two names of every leg, one a half, in colours of their own; those after the last colour share it.
function byName(places, names, palette, title) {
  const last = palette.names.length - 1;
  const shared = names.length > palette.names.length;
  const keys = names.slice(0, shared ? last : names.length)
    .map((name, at) => ({ colour: palette.names[at], name }));
  if (shared) keys.push({ colour: palette.quiet, name: `${names.length - last} others` });
  const colours = shared ? [...palette.names.slice(0, last), palette.quiet] : palette.names;
  const half = (at) => places.map((pair) => Math.min(pair[at], colours.length - 1));
  return { of: half(0), then: half(1), colours, legend: { title, keys } };
}

// Colours that come round again: neighbours differ, and the key stands elsewhere.
function inTurn(places, palette, title, keys) {
  const count = palette.names.length;
  return { of: places.map((at) => at % count), colours: palette.names, legend: { title, keys } };
}

const COLOURINGS = [
  { id: 'height', name: 'height above ground' },
  { id: 'trail', name: 'trail' },
  { id: 'support', name: 'support' },
  { id: 'uncertainty', name: 'uncertainty' },
  { id: 'section', name: 'section (night)' },
];

// The colour of every leg by what was chosen: `of` of its first half, or of the whole where `then` has
// none for the second.
function colouring(id, { legs, points, trails, supports }, palette) {
  const mean = (values) => legs.map(({ from, to }) => {
    const [a, b] = [values[from], values[to]];
    return a === null || b === null ? null : (a + b) / 2;
  });
  switch (id) {
    case 'trail': return inTurn(legs.map((leg) => leg.trail), palette, 'Trail: see the list', []);
    case 'support': return byName(legs.map((leg) => leg.supports), supports, palette, 'Support');
    case 'uncertainty':
      return bySize(mean(points.map((point) => point.sd)), palette, 'Standard deviation in space');
    case 'section': {
      const most = Math.min(points.reduce((n, point) => Math.max(n, point.section), 1), palette.names.length);
      const keys = Array.from({ length: most }, (_, k) => ({ colour: palette.names[k], name: `${k + 1}` }));
      return inTurn(legs.map((leg) => points[leg.to].section - 1), palette, 'Section', keys);
    }
    default: return bySize(mean(points.map((point) => point.height)), palette, 'Height above ground');
  }
}
