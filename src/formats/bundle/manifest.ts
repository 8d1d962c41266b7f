import { wordCount } from '../../core/recording/pieces';
import type { Lead } from '../../core/recording/recording';
import { bytesPerSample, detectedPath, leadPath, logPath } from './layout';
import type { Manifest } from './schema';

/**
 * What no schema can say: ids are unique, paths are where they belong, sizes fit, spans are in order and inside the
 * recording. Returns the first fault in words, or null.
 */
export function firstMisplaced(manifest: Manifest): string | null {
  if (hasTwice(manifest.recordings.map(r => r.id))) return 'two recordings have the same id.';
  if (hasTwice(manifest.logs.map(l => l.rater))) return 'two logs have the same rater.';
  for (const l of manifest.logs) {
    if (l.path !== logPath(l.rater)) return `the path of the log of ${l.rater} is ${l.path}.`;
  }
  const ids = new Set(manifest.recordings.map(r => r.id));
  const stray = manifest.session.samples?.find(s => !ids.has(s.recording));
  if (stray) return `a sample is of recording ${stray.recording}, which is not there.`;
  for (const r of manifest.recordings) {
    const fault = misplacedEntry(manifest, r) ?? misplacedSpan(r);
    if (fault !== null) return `recording ${r.id}: ${fault}`;
  }
  return null;
}

type RecordingEntry = Manifest['recordings'][number];

const hasTwice = (ids: readonly string[]) => new Set(ids).size < ids.length;

function misplacedEntry(manifest: Manifest, r: RecordingEntry): string | null {
  if (r.detected.path !== detectedPath(r.id)) return `the path of its marks is ${r.detected.path}.`;
  if (r.ecgLead !== undefined && !r.leads[r.ecgLead]) return `its lead under review is number ${r.ecgLead + 1}.`;
  for (const [i, lead] of r.leads.entries()) {
    if (lead.path !== leadPath(r.id, i, lead)) return `the path of lead ${i + 1} is ${lead.path}.`;
    // A lead begins with a word: before its first sample there is no time line.
    const gap = misplacedStretch(lead.unrecorded ?? [], lead.sampleCount, 1);
    if (gap) return `of lead ${i + 1}, the stretch from ${gap.start} to ${gap.end} without words is out of place.`;
    const bytes = wordCount(lead as Lead) * bytesPerSample[lead.format];
    const listed = manifest.files[lead.path]?.bytes;
    if (listed !== bytes) return `lead ${i + 1} needs ${bytes} bytes, but ${listed ?? 'none'} are listed.`;
  }
  return null;
}

function misplacedSpan(r: RecordingEntry): string | null {
  const gap = misplacedStretch(r.gaps, r.sampleCount);
  if (gap) return `the gap from ${gap.start} to ${gap.end} is out of place.`;
  let from = 0;
  for (const { name, start, end } of r.segments) {
    if (start < from || end <= start || end > r.sampleCount) return `the segment "${name}" is out of place.`;
    from = start;
  }
  return null;
}

type Stretch = Readonly<Record<'start' | 'end', number>>;

/** The first that is empty, not after the one before, or beyond the end. */
function misplacedStretch(stretches: readonly Stretch[], sampleCount: number, first = 0): Stretch | null {
  let from = first;
  for (const stretch of stretches) {
    if (stretch.start < from || stretch.end <= stretch.start || stretch.end > sampleCount) return stretch;
    from = stretch.end;
  }
  return null;
}
