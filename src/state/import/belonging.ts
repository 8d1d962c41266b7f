import { type ImportRow, isSignal } from './row';

/**
 * Whose marks a list holds, where the person has not said so, once every file was looked at: of the recorder or file that
 * its name begins with, the longest such name first; else of the one whose name has the most words in common with its own;
 * else of the only recorder, or the first one that has none yet.
 */
export function joinLists(rows: readonly ImportRow[]): ImportRow[] {
  const signals = rows.filter(isSignal);
  const stillThere = (id: number | null) => signals.some(s => s.id === id);
  if (rows.some(r => r.stage === 'looking')) {
    // A file that is still being looked at may be the one whose name fits best.
    return rows.map(row => (stillThere(row.belongsTo) ? row : { ...row, belongsTo: null, ownerChosen: false }));
  }
  const named = rows.map(row => {
    if (stillThere(row.belongsTo) && (row.ownerChosen || !isList(row))) return row;
    const belongsTo = isList(row) ? (namedBy(row, signals) ?? alike(row, signals)) : null;
    return { ...row, belongsTo, ownerChosen: false };
  });
  const taken = new Set(named.filter(r => r.meaning === 'text-marks').map(r => r.belongsTo));
  return named.map(row => {
    if (!isList(row) || row.belongsTo !== null) return row;
    const belongsTo = signals.find(s => !taken.has(s.id))?.id ?? signals[0]?.id ?? null;
    taken.add(belongsTo);
    return { ...row, belongsTo };
  });
}

const isList = (row: ImportRow) => row.meaning === 'text-marks' || row.meaning === 'annotations';

/** Row of the signal whose recorder or file name the list's name begins with; null for none. */
function namedBy(list: ImportRow, signals: readonly ImportRow[]): number | null {
  const said = plain(list.file.name);
  let best: { id: number; length: number } | null = null;
  for (const signal of signals) {
    for (const name of [plain(signal.recorder), plain(signal.file.name)]) {
      // Whole words only: V010 does not begin with V01.
      if (name === '' || !`${said}-`.startsWith(`${name}-`) || name.length <= (best?.length ?? 0)) continue;
      best = { id: signal.id, length: name.length };
    }
  }
  return best?.id ?? null;
}

/** Row of the one signal that has more words of the list's name in its own than any other; null for none. */
function alike(list: ImportRow, signals: readonly ImportRow[]): number | null {
  const said = words(list.file.name);
  const shared = signals.map(({ id, recorder, file }) => {
    const own = words(`${plain(recorder)}-${plain(file.name)}`);
    return { id, count: [...said].filter(word => own.has(word)).length };
  });
  const most = Math.max(0, ...shared.map(s => s.count));
  const best = shared.filter(s => s.count === most);
  return most > 0 && best.length === 1 ? best[0]!.id : null;
}

const words = (name: string) =>
  new Set(
    plain(name)
      .split('-')
      .filter(word => word !== ''),
  );

/** Without its ending, in small letters, with spaces, lines and hyphens alike: "Chest band.csv" as "chest-band". */
function plain(name: string): string {
  return name
    .replace(/\.gz$/i, '')
    .replace(/\.[^.]*$/, '')
    .toLowerCase()
    .replace(/[^\p{L}\p{N}]+/gu, '-');
}
