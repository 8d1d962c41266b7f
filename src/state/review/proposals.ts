import { createStore } from 'zustand/vanilla';
import { leadsWith } from '../../core/detector/lead-choice';
import type { NotSinusKind, NotSinusProposal } from '../../core/detector/sinus/kinds';
import type { NotSinusBeat } from '../../core/detector/sinus/not-sinus';
import type { Marks } from '../../core/marks/markset';
import { ecgLeadOf } from '../../core/recording/ecg-lead';
import { openProposals } from '../../core/review/places/not-sinus';
import { openAnalysis } from '../../workers/analysis';
import { type ReviewStore, reviewOf } from './review-store';

/** Beats proposed as not sinus; looked for when asked, as most reviews need none. */
export interface Proposals {
  /** Starts looking where the marks are others than those looked at last. Resolves when there is a proposal. */
  look(recordingId: string): Promise<void>;
  /** What was found; null before. */
  found(recordingId: string): NotSinusProposal | null;
  isLooking(recordingId: string): boolean;
  /** Not decided yet, in time order. */
  open(recordingId: string): readonly NotSinusBeat[];
  /** Whether marks were changed since: beats may have become others. */
  isStale(recordingId: string): boolean;
  getState(): { readonly version: number };
  subscribe(listener: () => void): () => void;
  stop(): void;
}

interface Looked {
  readonly marks: Marks;
  /** Null while it is being looked for. */
  readonly found: NotSinusProposal | null;
}

export function createProposals(review: ReviewStore): Proposals {
  const store = createStore(() => ({ version: 0 }));
  const known = new Map<string, Looked>();
  let analysis: ReturnType<typeof openAnalysis> | null = null;
  const keep = (id: string, looked: Looked | null) => {
    if (looked) known.set(id, looked);
    else known.delete(id);
    store.setState(s => ({ version: s.version + 1 }));
  };
  const marksOf = (id: string) => reviewOf(review.get(), id).marks;
  return {
    async look(id) {
      const marks = marksOf(id);
      const before = known.get(id);
      if (before && (before.marks === marks || before.found === null)) return;
      keep(id, { marks, found: null });
      try {
        analysis ??= openAnalysis();
        keep(id, { marks, found: await analysis.start('notSinus', inputOf(review, id, marks)).done });
      } catch (error) {
        keep(id, before ?? null);
        throw error;
      }
    },
    found: id => known.get(id)?.found ?? null,
    isLooking: id => known.get(id)?.found === null,
    open: id => openProposals(known.get(id)?.found?.beats ?? [], reviewOf(review.get(), id)),
    isStale: id => known.has(id) && known.get(id)!.marks !== marksOf(id),
    getState: store.getState,
    subscribe: store.subscribe,
    stop: () => analysis?.close(),
  };
}

/** More would take the room of as many copies of the recording, and tell little more. */
const mostLeads = 2;

function inputOf(review: ReviewStore, id: string, marks: Marks) {
  const { session } = review.get();
  const { recording } = session.recordings.find(r => r.recording.id === id)!;
  const first = ecgLeadOf(recording);
  if (recording.leads[first]?.samplingRateHz !== recording.samplingRateHz)
    throw new Error('no lead runs at the rate of the marks');
  const leads = leadsWith(first, recording.leads)
    .slice(0, mostLeads)
    .map(lead => ({ id: { session: session.id, recording: id, lead }, lead: recording.leads[lead]! }));
  return { leads, gaps: recording.gaps, marks };
}

/** Open proposals of each kind, the most frequent first. */
export function openKinds(
  open: readonly NotSinusBeat[],
  kinds: readonly NotSinusKind[],
): { readonly kind: NotSinusKind; readonly beats: readonly NotSinusBeat[] }[] {
  return kinds
    .map(kind => ({ kind, beats: open.filter(b => b.kind === kind.kind) }))
    .filter(({ beats }) => beats.length > 0)
    .sort((a, b) => b.beats.length - a.beats.length);
}
