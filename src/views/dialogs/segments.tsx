import { useState } from 'react';
import type { Segment } from '../../core/recording/recording';
import type { Session } from '../../core/review/session';
import type { SampleIndex } from '../../core/units';
import { clock, parseClock } from '../../state/clocks/text';
import { changeOpenSession } from '../../state/review/session-change';
import { active, pageSpan } from '../../state/review/workspace';
import { useApp, usePart, useWorkspace } from '../app-context';
import { Sheet } from '../controls/dialog';
import { TableHead } from '../controls/table-head';

interface Row {
  readonly name: string;
  readonly start: string;
  readonly end: string;
}

/** The protocol's segments on the clock of the current recorder: named, timed, checked before they are kept. */
export function SegmentsDialog() {
  const app = useApp();
  const workspace = useWorkspace();
  usePart(workspace.review.store, s => s.session);
  const { item, review, rateHz } = active(workspace);
  const asRow = (s: Segment): Row => ({
    name: s.name,
    start: clock(s.start / rateHz, 3),
    end: clock(s.end / rateHz, 3),
  });
  const draft = workspace.view.getState().segmentDraft;
  const drawn = draft ? [{ name: '', start: clock(draft.startSeconds, 1), end: clock(draft.endSeconds, 1) }] : [];
  const [known] = useState(() => new Map(item.segments.map(s => [key(asRow(s)), s])));
  const [rows, setRows] = useState<readonly Row[]>([...item.segments.map(asRow), ...drawn]);
  const [problem, setProblem] = useState('');
  const close = () => {
    workspace.view.setState({ segmentDraft: null });
    app.ui.openDialog(null);
  };
  const change = (i: number, part: Partial<Row>) => setRows(rows.map((r, k) => (k === i ? { ...r, ...part } : r)));
  const keep = () => {
    const { access } = workspace.review.get();
    if (!access.writable) return setProblem(`Nothing can be changed now: ${access.why ?? 'reading only'}.`);
    const read = readRows(rows, rateHz, item.recording.sampleCount, known);
    if (typeof read === 'string') return setProblem(read);
    const frozen = review.signOffs.find(o => !read.some(s => s.name === o.segment && item.segments.includes(s)));
    if (frozen) return setProblem(`${frozen.segment} is signed off: reopen it before you change it.`);
    const { id } = item.recording;
    const withRead = (now: Session): Session => ({
      ...now,
      recordings: now.recordings.map(r => (r.recording.id === id ? { ...r, segments: read } : r)),
    });
    changeOpenSession(app, workspace.review, withRead).catch((error: Error) =>
      app.ui.notify(`Segments not saved: ${error.message}`),
    );
    close();
  };
  const page = pageSpan(workspace);
  return (
    <Sheet title={`Segments, ${item.recording.recorder}`} onClose={close} wide>
      <form
        className="sheet-body"
        onSubmit={event => {
          event.preventDefault();
          keep();
        }}
      >
        <table>
          <TableHead columns={['name', { left: 'from' }, { left: 'to' }, { hidden: 'actions' }]} />
          <tbody>
            {rows.map((row, i) => (
              // biome-ignore lint/suspicious/noArrayIndexKey: rows have no identity but their place
              <tr key={i}>
                {(['name', 'start', 'end'] as const).map(field => (
                  <td key={field} className="left">
                    <input
                      aria-label={`${field === 'name' ? 'name' : field === 'start' ? 'from' : 'to'}, segment ${i + 1}`}
                      value={row[field]}
                      onChange={e => change(i, { [field]: e.target.value })}
                    />
                  </td>
                ))}
                <td>
                  <button type="button" onClick={() => setRows(rows.filter((_, k) => k !== i))}>
                    Delete
                  </button>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
        {problem && (
          <p className="needs" role="alert">
            {problem}
          </p>
        )}
        <div className="row end">
          <button
            type="button"
            onClick={() =>
              setRows([...rows, { name: '', start: clock(page.start / rateHz, 3), end: clock(page.end / rateHz, 3) }])
            }
          >
            Add one
          </button>
          <button type="submit" className="chief">
            Save
          </button>
        </div>
      </form>
    </Sheet>
  );
}

const key = (row: Row) => `${row.start} ${row.end} ${row.name}`;

/** The segments, or what is wrong with them. */
function readRows(
  rows: readonly Row[],
  rateHz: number,
  sampleCount: number,
  known: ReadonlyMap<string, Segment>,
): readonly Segment[] | string {
  const out: Segment[] = [];
  for (const row of rows) {
    const start = parseClock(row.start);
    const end = parseClock(row.end);
    const name = row.name.trim();
    if (name === '') return 'Every segment needs a name.';
    if (start === null || end === null) return `${name}: write times such as 5:00 or 1:05:00.`;
    const from = Math.round(start * rateHz);
    const to = Math.min(sampleCount, Math.round(end * rateHz));
    if (to <= from) return `${name}: it ends before it starts, or lies after the end of the recording.`;
    if (out.some(s => s.name === name)) return `${name}: the name is used twice.`;
    // A row left alone keeps its very samples: the times shown are rounded.
    out.push(known.get(key(row)) ?? { name, start: from as SampleIndex, end: to as SampleIndex });
  }
  out.sort((a, b) => a.start - b.start);
  const clash = out.find((s, i) => i > 0 && out[i - 1]!.end > s.start);
  return clash ? `${clash.name} begins before the segment in front of it ends.` : out;
}
