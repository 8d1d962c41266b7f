import type { Lead, Recording } from './recording';

type Leads = Pick<Recording, 'samplingRateHz' | 'leads' | 'ecgLead'>;

/** Index of the lead under review: the one chosen on import, else the first at the rate of the marks, else the first. */
export function ecgLeadOf({ ecgLead, leads, samplingRateHz }: Leads): number {
  if (ecgLead !== undefined && leads[ecgLead]) return ecgLead;
  return Math.max(
    0,
    leads.findIndex(l => l.samplingRateHz === samplingRateHz),
  );
}

/** The recording with that lead under review, so that marks, gaps and segments count at its rate. */
export function onLead(recording: Recording, index: number): Recording {
  const { samplingRateHz, sampleCount } = recording.leads[index] as Lead;
  const scale = samplingRateHz / recording.samplingRateHz;
  if (scale === 1) return { ...recording, ecgLead: index };
  const at = (sample: number) => Math.min(sampleCount, Math.round(sample * scale));
  const gaps = recording.gaps
    .map(g => ({ start: at(g.start), end: at(g.end) }) as Recording['gaps'][number])
    .filter(g => g.end > g.start);
  return { ...recording, ecgLead: index, samplingRateHz, sampleCount, gaps };
}

/** A lead number chosen for one recorder as it is for another: its own lead under review stands for that of the first. */
export function sameLead(shown: number, of: Leads, other: Leads): number {
  if (shown === ecgLeadOf(of) || shown >= other.leads.length) return ecgLeadOf(other);
  return shown;
}
