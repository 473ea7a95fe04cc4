// The paths in space: what is looked at, from where, and what hand and keys do to it.

const FONT = 'system-ui, sans-serif';

// The trails of the page as points and legs, each with what the drawing asks of it.
function sceneOf({ trails, supports, above_m: above }) {
  const [points, legs, known] = [[], [], []];
  trails.forEach((trail, at) => {
    const first = points.length;
    const start = legs.length;
    trail.anchors.forEach((name, k) => points.push({
      trail: at,
      name,
      first: k === 0,
      last: k === trail.anchors.length - 1,
      section: trail.section[k],
      escape: trail.escape[k] === 1,
      seen: trail.seen[k] === 1,
      about: trail.about[k],
      height: trail.height[k],
      sd: trail.sd[k],
      ground: trail.ground[k],
      place: [trail.east[k], trail.north[k], trail.up[k]],
    }));
    trail.legs.forEach(([from, to, start, end, style]) => legs.push({
      trail: at, from: first + from, to: first + to, supports: [start, end], gap: style === 1, assumed: style === 2,
      escape: trail.escape[to] === 1,
    }));
    const own = legs.slice(start);
    const starts = alongThread(own, ({ from, to }) => {
      const along = moved(points[to].place, points[from].place, -1);
      return Math.sqrt(dot(along, along));
    });
    known.push({ name: trail.name, oriented: trail.oriented, animal: trail.animal, first, count: trail.anchors.length, legs: own, starts });
  });
  const total = known.reduce((sum, trail) => sum + trail.starts.at(-1), 0);
  const level = points.every((point) => Math.abs(point.ground - points[0].ground) < 1e-6);
  return { points, legs, trails: known, supports, above, level, meanLeg: total / Math.max(legs.length, 1) };
}

// Boxes in plan, one a trail.
function trailBoxes({ points, trails }) {
  return trails.map(({ first, count }) => {
    const own = points.slice(first, first + count);
    const ends = (choose) => [0, 1].map((axis) => own.reduce(
      (best, point) => choose(best, point.place[axis]), own[0].place[axis]));
    return { low: ends(Math.min), high: ends(Math.max) };
  });
}

// Whether the trails lie so far apart that each would be a speck in one picture.
function isScattered(boxes) {
  if (boxes.length < 2) return false;
  const size = ({ low, high }) => Math.hypot(high[0] - low[0], high[1] - low[1]);
  const all = [0, 1].map((axis) => Math.max(...boxes.map((box) => box.high[axis]))
    - Math.min(...boxes.map((box) => box.low[axis])));
  const typical = boxes.map(size).sort((a, b) => a - b)[boxes.length >> 1];
  // Trails that nothing places all begin at one point, and hide each other.
  const centred = boxes.every(({ low, high }) => low[0] <= 0 && high[0] >= 0 && low[1] <= 0 && high[1] >= 0);
  return centred || Math.hypot(...all) > 5 * Math.max(typical, 1);
}

// Trails without a north share no frame with others, as if it were theirs.
const isParted = ({ trails }) => trails.length > 1 && trails.some(({ oriented }) => !oriented);

// What is shown and how, and everything that follows from it.
function makeView(scene, colours) {
  const boxes = trailBoxes(scene);
  const view = {
    scene,
    shown: scene.trails.map(() => true),
    apart: isParted(scene) || isScattered(boxes),
    colouring: 'height',
    drops: true,
    grid: true,
    names: true,
    stretch: 1,
    azimuth: LOOKS[5].azimuth,
    tilt: LOOKS[5].tilt,
    target: [0, 0, 0],
    scale: 20,
    read: -1,
    walked: 0,
    distance: null,
    size: [0, 0],
    places: new Float64Array(3 * scene.points.length),
    below: new Float64Array(3 * scene.points.length),
    screen: new Float64Array(3 * scene.points.length),
    feet: new Float64Array(3 * scene.points.length),
    order: scene.legs.map((_, at) => at),
  };
  const isShown = (point) => view.shown[scene.points[point].trail];

  view.isShown = isShown;
  view.axes = () => axesOf(view);
  view.lay = () => {
    // What is not shown takes no room.
    const shown = boxes.map((_, at) => at).filter((at) => view.shown[at]);
    const offsets = boxes.map(() => [0, 0]);
    if (view.apart && shown.length > 0) {
      sideBySide(shown.map((at) => boxes[at]), 1).forEach((offset, k) => { offsets[shown[k]] = offset; });
    }
    scene.points.forEach(({ trail, place, ground }, at) => {
      const [e, n] = [place[0] + offsets[trail][0], place[1] + offsets[trail][1]];
      view.places.set([e, n, place[2] * view.stretch], 3 * at);
      view.below.set([e, n, ground * view.stretch], 3 * at);
    });
  };
  view.fit = () => {
    view.lay();
    const [width, height] = view.size;
    const margin = Math.min(58, width / 8);
    Object.assign(view, fitted(view.axes(), view.places, isShown, { width, height, margin }));
  };
  view.recolour = () => {
    view.colours = colouring(view.colouring, scene, colours());
  };
  view.walker = () => {
    const trail = scene.trails[view.walked];
    if (view.distance === null || !trail || trail.legs.length === 0) return null;
    const { leg, share } = placeAt(trail.starts, view.distance);
    const { from, to } = trail.legs[leg];
    const mix = (list) => [0, 1].map((k) => list[3 * from + k] + share * (list[3 * to + k] - list[3 * from + k]));
    const [a, b] = [scene.points[from], scene.points[to]];
    const height = a.height + share * (b.height - a.height);
    return { at: mix(view.screen), foot: mix(view.feet), height, anchor: share < 0.5 ? from : to };
  };
  // `hair` is the width of the thinnest line, given while many legs are being turned.
  view.draw = (context, hair) => {
    const axes = view.axes();
    const camera = { axes, target: view.target, scale: view.scale, azimuth: view.azimuth, tilt: view.tilt };
    const middle = view.size.map((side) => side / 2);
    projectAll(camera, middle, view.places, view.screen);
    projectAll(camera, middle, view.below, view.feet);
    const own = colours();
    const palette = { ...own, trace: between([own.paper, own.quiet], 0.45) };
    const box = boxAround(view.places, isShown);
    const floor = scene.points.reduce((low, { ground }) => Math.min(low, ground), Infinity) * view.stretch;
    drawPicture(context, {
      ...view, hair, palette, camera, middle, box, floor, level: scene.level, font: FONT, walker: view.walker(),
      walked: view.distance === null ? -1 : view.walked,
    });
  };
  return view;
}

// Turns, moves and zooms by what hand, wheel and keys do. `change` draws again.
function listen(canvas, view, { change, read, key }) {
  const held = new Map();
  const at = (event) => {
    const box = canvas.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };
  const turn = (dx, dy) => {
    view.azimuth = (view.azimuth + dx + 360) % 360;
    view.tilt = Math.min(90, Math.max(-15, view.tilt + dy));
  };
  const move = (dx, dy) => {
    const { across, up } = view.axes();
    view.target = moved(moved(view.target, across, -dx / view.scale), up, dy / view.scale);
  };
  const zoom = (times, [x, y]) => {
    const before = view.scale;
    view.scale = Math.min(20000, Math.max(0.01, before * times));
    const [dx, dy] = [x - view.size[0] / 2, y - view.size[1] / 2];
    const share = view.scale / before - 1;
    move(-dx * share, -dy * share);
  };
  canvas.addEventListener('contextmenu', (event) => event.preventDefault());
  canvas.addEventListener('pointerdown', (event) => {
    canvas.setPointerCapture(event.pointerId);
    held.set(event.pointerId, at(event));
  });
  canvas.addEventListener('pointermove', (event) => {
    const [before, now] = [held.get(event.pointerId), at(event)];
    if (!before) {
      read(nearest(view.screen, now, 16, view.isShown), now);
      return;
    }
    const [dx, dy] = [now[0] - before[0], now[1] - before[1]];
    if (held.size === 2) {
      const other = [...held].find(([id]) => id !== event.pointerId)[1];
      const apart = (place) => Math.hypot(place[0] - other[0], place[1] - other[1]);
      move(dx / 2, dy / 2);
      zoom(apart(now) / Math.max(apart(before), 1), [(now[0] + other[0]) / 2, (now[1] + other[1]) / 2]);
    } else if (event.shiftKey || event.buttons === 2 || event.buttons === 4) {
      move(dx, dy);
    } else {
      turn(-dx * 0.4, dy * 0.4);
    }
    held.set(event.pointerId, now);
    read(-1, now);
    change();
  });
  const let_go = (event) => {
    held.delete(event.pointerId);
    if (event.pointerType === 'touch') read(nearest(view.screen, at(event), 26, view.isShown), at(event));
  };
  canvas.addEventListener('pointerup', let_go);
  canvas.addEventListener('pointercancel', (event) => held.delete(event.pointerId));
  canvas.addEventListener('pointerleave', () => held.size === 0 && read(-1, [0, 0]));
  // The wheel scrolls the page until the picture has been chosen.
  canvas.addEventListener('wheel', (event) => {
    if (document.activeElement !== canvas && !event.ctrlKey) return;
    event.preventDefault();
    zoom(Math.exp(-event.deltaY * (event.deltaMode === 1 ? 0.05 : 0.0016)), at(event));
    change();
  }, { passive: false });
  canvas.addEventListener('keydown', (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const arrows = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    const [x, y] = arrows[event.key] ?? [0, 0];
    const middle = view.size.map((side) => side / 2);
    if (arrows[event.key] && event.shiftKey) move(-x * 30, -y * 30);
    else if (arrows[event.key]) turn(x * 5, -y * 5);
    else if (event.key === '+' || event.key === '=') zoom(1.2, middle);
    else if (event.key === '-') zoom(1 / 1.2, middle);
    else if (!key(event.key)) return;
    event.preventDefault();
    change();
  });
}
