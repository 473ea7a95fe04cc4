// Tables that are sorted by a press on a head.

// What a cell is sorted by: its first number where it begins with one, else its words.
function sortKey(text) {
  const bare = text.trim().replace(/^[≥≤<\s]+/u, '');
  if (bare === '' || bare === '–') return { kind: 2, value: 0 };
  const number = /^[-−]?\d+(\.\d+)?(?![-\d])/u.exec(bare);
  return number ? { kind: 0, value: Number(number[0].replace('−', '-')) } : { kind: 1, value: bare };
}

// The order of two keys; what is missing stays last either way.
function compareKeys(a, b, downward) {
  if (a.kind !== b.kind) return a.kind === 2 || b.kind === 2 || !downward ? a.kind - b.kind : b.kind - a.kind;
  const order = a.kind === 1 ? a.value.localeCompare(b.value, 'en', { numeric: true }) : a.value - b.value;
  return downward ? -order : order;
}

function sortRows(table, column, downward) {
  const body = table.tBodies[0];
  const keyed = [...body.rows].map((row) => ({ row, key: sortKey(row.cells[column].textContent) }));
  keyed.sort((a, b) => compareKeys(a.key, b.key, downward));
  body.append(...keyed.map(({ row }) => row));
}

function makeSortable(table) {
  const heads = [...table.tHead.rows[0].cells];
  heads.forEach((head, column) => {
    const button = document.createElement('button');
    button.type = 'button';
    button.append(...head.childNodes);
    button.title = 'Sort by this column';
    head.append(button);
    head.setAttribute('aria-sort', 'none');
    button.addEventListener('click', () => {
      const downward = head.getAttribute('aria-sort') === 'ascending';
      heads.forEach((other) => other.setAttribute('aria-sort', 'none'));
      head.setAttribute('aria-sort', downward ? 'descending' : 'ascending');
      sortRows(table, column, downward);
    });
  });
}
