import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { leadsWith } from '../../../src/core/detector/lead-choice';
import { readBundle } from '../../../src/formats/bundle/reader';
import { memorySink } from '../../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../../src/formats/bytes/source';
import { truthOf } from '../keys/truth';
import { type Judged, judge } from './places';

const sessions = join(import.meta.dirname, '../../../sample-sessions/sessions');

/** Both recorders of a sample session with the mistakes planted in them. */
export async function judgedSamples(volunteer: string): Promise<Judged[]> {
  const bundle = await readBundle(bytesSource(`${volunteer}.zip`, readFileSync(join(sessions, `${volunteer}.zip`))));
  const out: Judged[] = [];
  for (const { recording, detected: marks } of bundle.reviewed.session.recordings) {
    const { id, samplingRateHz: hz, gaps } = recording;
    const sink = memorySink();
    await bundle.readRecording(id, sink);
    const first = recording.leads.findIndex(l => l.samplingRateHz === hz);
    const leads = leadsWith(first, recording.leads).map(lead => sink.lead(lead));
    out.push(judge(volunteer, 'samples', { leads, hz, marks, gaps, ...truthOf(volunteer, id) }));
  }
  return out;
}
