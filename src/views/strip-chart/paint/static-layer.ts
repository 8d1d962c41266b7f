import { type RateRange, rateFitsBeside } from '../intervals';
import { type Band, type GroupLayout, intervalParts, type RowLayout, type StripLayout, twoLinesPx } from '../layout';
import type { StripModel, StripRecorder, StripView } from '../model';
import { type GainScale, yOf } from '../trace/window';
import type { Palette } from './palette';
import type { DrawingSurface } from './surface';

/** What stays put while the trace moves: the ledger's ruling, and the names in the gutter. */
export interface StaticLayer {
  readonly surface: DrawingSurface;
  readonly palette: Palette;
  readonly model: StripModel;
  readonly view: StripView;
  readonly layout: StripLayout;
  /** By recorder: whether intervals are in figures now, and the range of the heart-rate line. */
  readonly intervals: readonly { readonly figures: boolean; readonly rates: RateRange }[];
  /** By trace; a trace without one has no calibration pulse. */
  readonly gains: ReadonlyMap<Band, GainScale>;
}

export function paintStaticLayer(f: StaticLayer): void {
  for (const row of f.layout.rows) {
    for (const group of row.groups) {
      paintLaneRules(f, group);
      paintGutter(f, row, group);
    }
  }
}

function lanesOf({ raters, detected, reviewed, interval, unreadable }: GroupLayout): Band[] {
  if (!raters) return [detected, reviewed, interval, unreadable];
  const settled = reviewed.height > 0 ? [reviewed] : [];
  return [raters.above, detected, raters.below, ...settled, interval, unreadable];
}

function paintLaneRules(f: StaticLayer, group: GroupLayout): void {
  const { surface, palette, layout } = f;
  const right = layout.width;
  const lanes = lanesOf(group);
  const top = lanes[0]!.top;
  surface.boxes([layout.gutterPx, group.margin.top, layout.plotWidthPx, group.margin.height], palette.paper);
  surface.boxes([layout.gutterPx, top, layout.plotWidthPx, group.bottom - top], palette.paperRaised);
  const rules: number[] = [];
  for (const lane of lanes.slice(1)) rules.push(0, lane.top, right, lane.top);
  surface.lines(rules, { colour: palette.rule });
  const frame = [0, top, right, top, 0, group.bottom, right, group.bottom];
  surface.lines(frame, { colour: palette.inkSoft });
  // The ledger's double margin line.
  const x = layout.gutterPx;
  surface.lines([x - 1, group.top, x - 1, group.bottom, x - 4, group.top, x - 4, group.bottom], {
    colour: palette.rule,
  });
}

function paintGutter(f: StaticLayer, row: RowLayout, group: GroupLayout): void {
  const recorder = f.model.recorders[group.recorderIndex];
  if (!recorder) return;
  laneName(f, group.detected, recorder.laneNames?.detected ?? 'as detected');
  if (group.reviewed.height > 0) laneName(f, group.reviewed, recorder.laneNames?.reviewed ?? 'as reviewed');
  if (group.raters && recorder.raters) {
    laneName(f, group.raters.above, recorder.raters.above.name);
    laneName(f, group.raters.below, recorder.raters.below.name);
  }
  intervalNames(f, recorder, group);
  laneName(f, group.unreadable, 'unreadable');
  group.traces.forEach((band, i) => {
    traceName(f, recorder, band, i, row.index === 0);
  });
}

function intervalNames(f: StaticLayer, recorder: StripRecorder, { interval, recorderIndex }: GroupLayout): void {
  const { figures: inFigures, rates } = f.intervals[recorderIndex]!;
  const { figures, line } = intervalParts(interval, inFigures, f.view.textScale ?? 1);
  if (figures) {
    const beside = rateFitsBeside(f.view.mmPerSecond * f.view.pxPerMm, rates, f.view.textScale ?? 1);
    const inOneLine = beside && figures.height < twoLinesPx * (f.view.textScale ?? 1);
    const own = inOneLine ? 'interval, ms · bpm' : 'interval, ms';
    laneName(f, figures, recorder.laneNames?.interval ?? own, 'rate, bpm');
  }
  if (!line) return;
  const height = 15 * (f.view.textScale ?? 1);
  const endsApart = line.height >= height * (figures ? 2 : 4);
  if (!endsApart) {
    laneName(f, line, 'rate', `${rates.low}–${rates.high} bpm`);
    return;
  }
  if (!figures) laneName(f, line, 'rate, bpm');
  laneName(f, { top: line.top, height }, figures ? `${rates.high} bpm` : String(rates.high));
  laneName(f, { top: line.top + line.height - height, height }, String(rates.low));
}

function laneName(f: StaticLayer, lane: Band, words: string, second?: string): void {
  const size = 11 * (f.view.textScale ?? 1);
  const x = f.layout.gutterPx - 9;
  const style = { colour: f.palette.inkSoft, size, anchor: 'end' } as const;
  if (second !== undefined && lane.height >= size * 2.3) {
    f.surface.text(x, lane.top + lane.height * 0.43, words, style);
    f.surface.text(x, lane.top + lane.height * 0.86, second, style);
  } else {
    f.surface.text(x, lane.top + lane.height / 2 + size * 0.36, words, style);
  }
}

/** Names and notes beside a trace, in lines that leave the calibration pulse its place. */
function traceName(f: StaticLayer, recorder: StripRecorder, band: Band, index: number, firstRow: boolean): void {
  const { surface, palette, view } = f;
  const track = recorder.tracks[index];
  const scale = view.textScale ?? 1;
  const size = 11.5 * scale;
  const line = size * 1.32;
  const soft = { colour: palette.inkSoft, size: 11 * scale };
  const room = Math.max(1, Math.floor((band.height - 4) / line));
  const pulse = pulseOf(f, band);
  if (pulse) paintCalibration(f, pulse);
  const words: { words: string; strong: boolean }[] = [];
  if (index === 0) words.push({ words: recorder.label, strong: true });
  if (track) words.push({ words: leadWords(track.leadName), strong: index > 0 });
  if (track && firstRow && index === 0) for (const part of scaleWords(view)) words.push({ words: part, strong: false });
  // Beside the pulse a line is shorter: characters that fit into the line with this number.
  const fits = (n: number) => {
    const top = band.top + 2 + line * n;
    const beside = pulse !== null && top < pulse.base + 2 && top + line > pulse.top;
    return Math.floor(((beside ? pulse.left - 4 : f.layout.gutterPx - 9) - leftPx) / (soft.size * characterEm));
  };
  if (track?.filteredNote) {
    const taken = words.length;
    // Where there is no room for which filters, that there are some.
    const said = [track.filteredNote, track.filteredNote.replace(' on screen', '')].map(note =>
      wrapped(note, n => fits(taken + n)),
    );
    const shown = said.find(lines => lines.length <= room - taken) ?? ['filtered'];
    for (const part of shown) words.push({ words: part, strong: false });
  }
  words.slice(0, room).forEach((w, i) => {
    const style = w.strong ? { colour: palette.ink, size, weight: 600 as const } : soft;
    surface.text(leftPx, band.top + 2 + line * (i + 0.85), w.words, style);
  });
}

const leftPx = 8;
/** Mean width of a character as a share of the size, in a wide face. */
const characterEm = 0.57;

export function leadWords(leadName: string): string {
  return /lead/i.test(leadName) ? leadName : `lead ${leadName}`;
}

/** `25 mm/s` and `10 mm/mV`; at slow speeds the time a centimetre stands for. */
export function scaleWords(view: Pick<StripView, 'mmPerSecond' | 'mmPerMv'>): string[] {
  return [`${trimmed(view.mmPerSecond)} mm/s`, `${trimmed(view.mmPerMv)} mm/mV`];
}

function trimmed(value: number): string {
  return String(Number(value.toPrecision(3)));
}

/** The words in lines; `fits` says how many characters go into the line with this number. */
export function wrapped(words: string, fits: (line: number) => number): string[] {
  const out: string[] = [];
  for (const word of words.split(' ')) {
    const last = out.at(-1);
    if (last !== undefined && last.length + 1 + word.length <= fits(out.length - 1))
      out[out.length - 1] = `${last} ${word}`;
    else out.push(word);
  }
  return out;
}

/** The paper's own proof of scale: a pulse of 1 mV for 5 mm at the gutter's edge. CSS pixels. */
interface Pulse {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly base: number;
}

const pulseFootPx = 3;

/** Null where the pulse would leave its row or cover the recorder's name. */
function pulseOf(f: StaticLayer, band: Band): Pulse | null {
  const gain = f.gains.get(band);
  if (!gain) return null;
  const right = f.layout.gutterPx - 8;
  const left = right - 5 * f.view.pxPerMm - 2 * pulseFootPx;
  const base = yOf(gain, gain.baseMv);
  const top = base - gain.pxPerMv;
  const nameRoom = 18 * (f.view.textScale ?? 1);
  return top < band.top + nameRoom || base > band.top + band.height - 2 ? null : { left, right, top, base };
}

function paintCalibration(f: StaticLayer, { left, right, top, base }: Pulse): void {
  const up = left + pulseFootPx;
  const down = right - pulseFootPx;
  const points = [left, base, up, base, up, top, down, top, down, base, right, base];
  f.surface.path(points, { colour: f.palette.inkSoft });
}
