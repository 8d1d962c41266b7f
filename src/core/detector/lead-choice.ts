import { wordCount } from '../recording/pieces';
import type { Lead } from '../recording/recording';
import { namesOther } from './choose-lead';

/**
 * Numbers of the leads that are looked at together with lead `first`: it, then the others of its rate and length, without
 * those whose names say that they are something other than an ECG.
 */
export function leadsWith(first: number, leads: readonly Lead[]): number[] {
  const { samplingRateHz, sampleCount } = leads[first]!;
  const words = wordCount(leads[first]!);
  const alike = (l: Lead) =>
    l.samplingRateHz === samplingRateHz && l.sampleCount === sampleCount && wordCount(l) === words;
  return [first, ...[...leads.keys()].filter(i => i !== first && alike(leads[i]!) && !namesOther(leads[i]!.name))];
}

/** How the leads are called in a sentence: 'lead II', 'leads II and V5', 'leads II, V1 and V5'. */
export function leadsInWords(leads: readonly { readonly name: string }[]): string {
  const names = leads.map(l => l.name || 'unnamed');
  if (names.length < 2) return `lead ${names[0] ?? 'unnamed'}`;
  return `leads ${names.slice(0, -1).join(', ')} and ${names.at(-1)}`;
}
