import type { Flag } from '../command';

/** Flags of a command that takes many files. */
export const manyFlags: Readonly<Record<string, Flag>> = {
  out: {
    value: 'DIR',
    about: 'takes many files, or folders of them: one result each in DIR, on all cores; what is done is not done again',
  },
  jobs: { value: 'N', about: 'with --out: how many files at a time (default one for each core)' },
  again: { about: 'with --out: also what is done already' },
};
