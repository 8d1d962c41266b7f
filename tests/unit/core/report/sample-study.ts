import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { defaultMatchSettings } from '../../../../src/core/marks/match';
import type { ReportInput } from '../../../../src/core/report/beginning';
import { defaultStudySettings } from '../../../../src/core/report/study-numbers';
import type { ReviewedSession } from '../../../../src/core/review/session';
import { readBundle } from '../../../../src/formats/bundle/reader';
import { bytesSource } from '../../../../src/formats/bytes/source';

const folder = join(import.meta.dirname, '../../../../sample-sessions');
export const volunteers = ['V01', 'V02', 'V03', 'V04', 'V05', 'V06', 'V07', 'V08'];

export const studyPath = (volunteer: string) => join(folder, 'study', `${volunteer}.zip`);

export async function sampleStudy(): Promise<ReviewedSession[]> {
  const opened = volunteers.map(v => readBundle(bytesSource(`${v}.zip`, readFileSync(studyPath(v)))));
  return (await Promise.all(opened)).map(b => b.reviewed);
}

interface Span {
  readonly start: number;
  readonly end: number;
}

/** What sample-sessions/truth says of one volunteer. */
export interface Truth {
  readonly clocks: { readonly offsetSeconds: number; readonly driftPpm: number };
  readonly recordings: readonly {
    readonly id: string;
    readonly beats: readonly number[];
    readonly ectopic: readonly { readonly beat: number }[];
    readonly planted: readonly {
      readonly kind: 'missed' | 'wrongPeak' | 'extra' | 'shifted';
      readonly beat: number | null;
      readonly mark: number | null;
    }[];
    readonly unreadable: readonly Span[];
  }[];
  readonly secondRaterSlips: readonly { readonly recording: string; readonly kind: string; readonly at: number }[];
}

const truths = new Map<string, Truth>();

export function truthOf(volunteer: string): Truth {
  const known = truths.get(volunteer);
  if (known) return known;
  const truth = JSON.parse(readFileSync(join(folder, 'truth', `${volunteer}.json`), 'utf8')) as Truth;
  truths.set(volunteer, truth);
  return truth;
}

/** Few draws: what is tested is not how many there are. */
export function inputOf(sessions: readonly ReviewedSession[], draws = 200): ReportInput {
  const { bootstrap, planning } = defaultStudySettings;
  return {
    title: 'Training day',
    study: null,
    sessions,
    settings: {
      match: defaultMatchSettings,
      statistics: { bootstrap: { ...bootstrap, draws }, planning: { ...planning, studies: 60 } },
      includeUnfinished: false,
      clocks: {},
    },
  };
}
