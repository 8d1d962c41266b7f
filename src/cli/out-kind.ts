import { UsageError } from './command';

export type OutKind = 'edf' | 'ecg' | 'csv' | 'zip' | 'raw';
const endings: Readonly<Record<string, OutKind>> = {
  edf: 'edf',
  ecg: 'ecg',
  csv: 'csv',
  txt: 'csv',
  zip: 'zip',
  raw: 'raw',
  bin: 'raw',
  dat: 'raw',
};

/** What to write, by the ending of the file's name. */
export function outKind(target: string): OutKind {
  const ending = /\.([^.]+)$/.exec(target)?.[1]?.toLowerCase() ?? '';
  if (!Object.hasOwn(endings, ending)) {
    throw new UsageError(`OUT ends in .${Object.keys(endings).join(', .')}, not ${ending ? `.${ending}` : 'nothing'}`);
  }
  return endings[ending]!;
}
