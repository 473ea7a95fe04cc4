// The page comes alive: tables that sort, and the drawing with its controls.

const made = (tag, properties = {}, ...children) => {
  const element = Object.assign(document.createElement(tag), properties);
  element.append(...children);
  return element;
};

const byId = (id) => document.getElementById(id);

document.querySelectorAll('table.sortable').forEach(makeSortable);

// Paper is white, whatever the screen is.
let printing = false;
const darkness = matchMedia('(prefers-color-scheme: dark)');
const isDark = () => darkness.matches && !printing;

// What is folded away on the screen is not to be missing on paper.
const folded = [...document.querySelectorAll('section details')].filter(({ id }) => id !== 'keys');
addEventListener('beforeprint', () => folded.forEach((details) => {
  details.dataset.open = details.open;
  details.open = true;
}));
addEventListener('afterprint', () => folded.forEach((details) => {
  details.open = details.dataset.open === 'true';
}));

function showSpace({ palette, drawing }) {
  const [canvas, tip, reading] = [byId('canvas'), byId('tip'), byId('reading')];
  const context = canvas.getContext('2d');
  const scene = sceneOf(drawing);
  const onPaper = { ...palette.light, paper: '#fff' };
  const view = makeView(scene, () => (printing ? onPaper : isDark() ? palette.dark : palette.light));
  let [waiting, walking, fine, resting] = [false, false, 1, 0];

  const drawNow = (turning = false) => {
    waiting = false;
    const many = scene.legs.length > MANY_LEGS;
    view.draw(context, many && turning ? 1 / fine : undefined);
    placeTip();
    clearTimeout(resting);
    if (many && turning) resting = setTimeout(() => drawNow(), 160);
  };
  const change = () => {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => drawNow(true));
  };
  const resize = () => {
    const [width, height] = [canvas.clientWidth, canvas.clientHeight];
    fine = Math.min(window.devicePixelRatio || 1, 2) * (printing ? 2 : 1);
    canvas.width = Math.round(width * fine);
    canvas.height = Math.round(height * fine);
    context.setTransform(fine, 0, 0, fine, 0, 0);
    view.size = [width, height];
  };
  const fit = () => {
    view.fit();
    change();
  };
  const recolour = () => {
    view.recolour();
    showLegend(byId('legend'), view.colours.legend, scene);
    byId('view').dataset.colour = view.colouring;
    change();
  };

  const words = (at) => {
    const point = scene.points[at];
    const { name, animal } = scene.trails[point.trail];
    const of = animal && animal !== name ? ` (${animal})` : '';
    const part = point.escape ? ', escape run' : '';
    return [`${name}${of}, anchor ${point.name}, section ${point.section}${part}`, ...point.about.split('\n')];
  };
  const placeTip = () => {
    tip.hidden = view.read < 0;
    if (tip.hidden) return;
    tip.style.left = '0';
    const [x, y] = [view.screen[3 * view.read], view.screen[3 * view.read + 1]];
    const [wide, high] = [tip.offsetWidth, tip.offsetHeight];
    const right = x + 18 + wide > view.size[0];
    tip.style.left = `${Math.max(4, right ? x - 18 - wide : x + 18)}px`;
    tip.style.top = `${Math.max(4, Math.min(y - high / 2, view.size[1] - high - 4))}px`;
  };
  const read = (at) => {
    if (at === view.read) return;
    view.read = at;
    const lines = at < 0 ? [] : words(at);
    tip.replaceChildren(...lines.map((line, k) => made(k === 0 ? 'strong' : 'span', { textContent: line })));
    change();
  };
  // What a key chose is said aloud as well; a pointer passes over too many anchors for that.
  const readAloud = (at) => {
    view.read = -1;
    read(at);
    reading.textContent = words(at).join('; ');
  };

  const slider = made('input', { type: 'range', min: 0, step: 'any', id: 'walk', value: 0 });
  const play = made('button', { type: 'button', textContent: 'Walk' });
  const walkedTrail = made('select', { id: 'walked' }, ...scene.trails.map((trail, at) => made('option', {
    value: at, textContent: trail.animal && trail.animal !== trail.name ? `${trail.name} (${trail.animal})` : trail.name })));
  const walkTo = (distance) => {
    const trail = scene.trails[view.walked];
    const most = trail.starts.at(-1);
    view.distance = Math.min(Math.max(distance, 0), most);
    slider.max = most;
    slider.value = view.distance;
    const walker = view.walker();
    const along = () => `${metres(view.distance)} of ${metres(most)} along the thread`;
    const line = walker ? `${along()}, ${metres(walker.height)} above ground` : 'This trail has no legs.';
    reading.textContent = walker ? `${trail.name}: ${line}, near anchor ${scene.points[walker.anchor].name}` : line;
    slider.setAttribute('aria-valuetext', line);
    change();
  };
  const walkTrail = (at) => {
    view.walked = at;
    walkedTrail.value = at;
    walkTo(0);
  };
  const stop = () => {
    walking = false;
    play.textContent = 'Walk';
  };
  const walk = () => {
    if (walking) return stop();
    walking = true;
    play.textContent = 'Stop';
    const most = scene.trails[view.walked].starts.at(-1);
    let from = view.distance === null || view.distance >= most ? 0 : view.distance;
    let last = performance.now();
    const step = (now) => {
      if (!walking) return;
      from += ((now - last) / 1000) * Math.max(most / 25, 0.2); // a trail takes 25 seconds
      last = now;
      walkTo(from);
      if (from >= most) stop();
      else requestAnimationFrame(step);
    };
    requestAnimationFrame(step);
  };

  const look = ({ azimuth, tilt }) => {
    Object.assign(view, { azimuth, tilt });
    fit();
  };
  const step = (by) => {
    const all = scene.points.map((_, at) => at).filter(view.isShown);
    if (all.length === 0) return;
    const at = all.indexOf(view.read);
    readAloud(all[at < 0 ? (by > 0 ? 0 : all.length - 1) : (at + by + all.length) % all.length]);
  };
  const key = (name) => {
    const number = Number(name);
    if (name === ' ') walk();
    else if (name === '0') view.fit();
    else if (number >= 1 && number <= 6) look(LOOKS[number - 1]);
    else if (name === 'n' || name === 'p') step(name === 'n' ? 1 : -1);
    else if (name === 't') walkTrail((view.walked + 1) % scene.trails.length);
    else if (name === 'Escape') read(-1);
    else return false;
    return true;
  };

  byId('panel').append(...controls());
  function controls() {
    const button = (text, act) => {
      const one = made('button', { type: 'button', textContent: text });
      one.addEventListener('click', act);
      return one;
    };
    const group = (title, ...children) => made('fieldset', {}, made('legend', { textContent: title }), ...children);
    const labelled = (text, control) => made('label', {}, made('span', { textContent: text }), control);
    const choice = (id, options, chosen, act) => {
      const select = made('select', { id }, ...options.map(([value, textContent]) => made('option', { value, textContent })));
      select.value = chosen;
      select.addEventListener('change', () => act(select.value));
      return select;
    };
    const tick = (text, checked, act, id = '') => {
      const box = made('input', { type: 'checkbox', checked, id });
      box.addEventListener('change', () => act(box.checked));
      return made('label', { className: 'tick' }, box, made('span', { textContent: text }));
    };
    const lookButtons = LOOKS.map((one) => button(one.name, () => look(one)));
    const nameLooks = () => lookButtons.forEach((one, at) => {
      one.textContent = hasNorth(view) ? LOOKS[at].name : LOOKS[at].free ?? LOOKS[at].name;
    });
    nameLooks();
    const looks = made('div', { className: 'row' }, ...lookButtons, button('Fit', fit));
    const set = (name) => (value) => { view[name] = value; change(); };
    const shows = [
      labelled('Colour by', choice('colour', COLOURINGS.map(({ id, name }) => [id, name]), view.colouring, (value) => {
        view.colouring = value;
        recolour();
      })),
      labelled('Heights', choice('stretch', [1, 2, 3, 5].map((times) => [times, `× ${times}`]), 1, (value) => {
        view.stretch = Number(value);
        fit();
      })),
      tick('drop lines', view.drops, set('drops')),
      tick('net on the ground', view.grid, set('grid')),
      tick('names', view.names, set('names')),
    ];
    if (scene.trails.length > 1 && !isParted(scene)) {
      const ways = [['apart', 'side by side'], ['as', 'as they lie']];
      shows.splice(1, 0, labelled('Trails', choice('lay', ways, view.apart ? 'apart' : 'as', (value) => {
        view.apart = value === 'apart';
        fit();
      })));
    }
    const ticks = scene.trails.map((trail, at) => {
      const own = tick(trail.name, true, (on) => {
        view.shown[at] = on;
        nameLooks();
        if (!on && view.read >= 0 && !view.isShown(view.read)) read(-1);
        change();
      }, `trail-${at}`);
      const swatch = made('i', { className: 'swatch' });
      swatch.style.background = `var(--name-${at % palette.light.names.length})`;
      own.append(swatch);
      return own;
    });
    const all = (on) => () => {
      ticks.forEach((label, at) => {
        label.querySelector('input').checked = on;
        view.shown[at] = on;
      });
      nameLooks();
      read(-1);
      change();
    };
    slider.addEventListener('input', () => { stop(); walkTo(Number(slider.value)); });
    play.addEventListener('click', walk);
    walkedTrail.addEventListener('change', () => { stop(); walkTrail(Number(walkedTrail.value)); });
    const save = button('Save this picture', () => canvas.toBlob((picture) => {
      const link = made('a', { href: URL.createObjectURL(picture), download: 'paths.png' });
      link.click();
      setTimeout(() => URL.revokeObjectURL(link.href), 1000);
    }));
    return [
      group('Look', looks),
      group('Show', ...shows),
      group('Walk along a path', labelled('Trail', walkedTrail), labelled('Place', slider),
        made('div', { className: 'row' }, play, save)),
      group('Trails shown', made('div', { className: 'row' }, button('All', all(true)), button('None', all(false))),
        made('div', { className: 'ticks' }, ...ticks)),
    ];
  }

  listen(canvas, view, { change, read, key });
  const restart = () => {
    resize();
    view.fit();
    recolour();
    drawNow();
  };
  new ResizeObserver(() => {
    const [width, height] = view.size;
    if (canvas.clientWidth !== width || canvas.clientHeight !== height) {
      resize();
      view.fit();
      drawNow();
    }
  }).observe(canvas);
  darkness.addEventListener('change', recolour);
  const print = (on) => () => { printing = on; restart(); };
  addEventListener('beforeprint', print(true));
  addEventListener('afterprint', print(false));
  restart();
  walkedTrail.value = 0;
  slider.max = scene.trails[0].starts.at(-1);
  return { view, drawNow };
}

function showLegend(place, { title, low, high, bar, keys = [] }, scene) {
  const parts = [made('strong', { textContent: title })];
  if (bar) {
    const strip = made('span', { className: 'bar' });
    strip.style.background = `linear-gradient(to right, ${bar.join(',')})`;
    parts.push(made('span', { className: 'scale' }, made('span', { textContent: roundMetres(low) }), strip,
      made('span', { textContent: roundMetres(high) })));
  }
  keys.forEach(({ colour, name }) => {
    const swatch = made('i', { className: 'swatch' });
    swatch.style.background = colour;
    parts.push(made('span', { className: 'key' }, swatch, made('span', { textContent: name })));
  });
  parts.push(made('span', { className: 'key marks', textContent: '△ release  ● animal found  ○ end of the thread  – – escape run  ··· gap' }));
  if (scene.legs.some(({ assumed }) => assumed)) {
    parts.push(made('span', { className: 'key marks', textContent: '• • no direction read: carried on' }));
  }
  if (scene.trails.some(({ oriented }) => !oriented)) {
    parts.push(made('span', { className: 'key marks', textContent: '(no north): ahead is from the release to the farthest point' }));
  }
  place.replaceChildren(...parts);
}

const space = byId('canvas') && showSpace(JSON.parse(byId('data').textContent));

// What tests ask for.
globalThis.perchline = { axesOf, projected, roundStep, fitted, nearest, placeAt, alongThread, sideBySide, between,
  sortKey, compareKeys, bySize, byName, compassWords, aheadWords, space };
