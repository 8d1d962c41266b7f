import type { MistakeKind } from '../../core/report/quality-table';

export const mistakeNames: Readonly<Record<MistakeKind, string>> = {
  missed: 'missed',
  wrongPeak: 'wrong peak',
  extra: 'extra',
  unreadable: 'unreadable',
  noSignal: 'no signal',
};
