import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import { type ChosenLead, chooseEcgLead, judgedStretch } from '../core/detector/choose-lead';
import { signalFingerprint } from '../core/recording/fingerprint';
import type { Recording } from '../core/recording/recording';
import { blockBytes } from '../formats/bytes/source';
import { type LeadId, openSignalStore } from '../storage/signals';
import type { JobControl } from './worker-client';

interface LeadsInput {
  readonly ids: Omit<LeadId, 'lead'>;
  readonly recording: Recording;
}

export interface FoundLead extends ChosenLead {
  /** SHA-256 over length, rate and 40 s of the lead; '' where these are one value throughout. */
  readonly signalSha256: string;
}

/** Which of the stored leads looks most like an ECG; `of` names one that is taken all the same. */
async function chooseLead({ ids, recording, of }: LeadsInput & { readonly of: number | null }): Promise<FoundLead> {
  const store = await openSignalStore();
  const stretches = recording.leads.map(async (lead, i) => {
    const [from, to] = judgedStretch(recording, lead);
    return { ...lead, words: await store.lead({ ...ids, lead: i }, lead).read(from, to) };
  });
  const leads = await Promise.all(stretches);
  const chosen = of === null ? chooseEcgLead(leads) : { index: of, why: 'as chosen by you', sure: true };
  return { ...chosen, signalSha256: signalFingerprint(recording.leads[chosen.index]!, leads[chosen.index]!.words) };
}

/** SHA-256 of a file as it is, read through once. */
async function fileChecksum({ file }: { file: File }, control: JobControl): Promise<string> {
  const hash = sha256.create();
  for (let at = 0; at < file.size; at += blockBytes) {
    control.signal.throwIfAborted();
    hash.update(new Uint8Array(await file.slice(at, at + blockBytes).arrayBuffer()));
  }
  return bytesToHex(hash.digest());
}

export const leadJobs = { chooseLead, fileChecksum };
