import { utf8ToBytes } from '@noble/hashes/utils.js';
import { type IccForm, intraclassCorrelations } from '../agreement/icc';
import { cohenKappa } from '../agreement/kappa';
import { detectBeats } from '../detector/detect';
import { nnSeriesOf } from '../hrv/nn';
import { timeDomain } from '../hrv/time-domain';
import { sha256Hex, verifyChain } from '../marks/log';
import { defaultMatchSettings } from '../marks/match';
import { scoreRow } from '../score/measures';
import { scoreRecording } from '../score/score';
import { wilsonInterval } from '../score/wilson';
import { span } from '../units';
import { chainAnswers, chainExample, sha256OfAbc } from './chain-example';
import type { KnownAnswer } from './known-answer';
import { simulatedAnswers, simulatedMinute } from './simulated-example';
import { alternatingAnswers, alternatingIntervals, iccExample, kappaExample, wilsonExamples } from './statistics';
import { scoreExample, type WorkedExample, workedExamples } from './worked-examples';

const twoDecimals = 0.005;
const fourDecimals = 0.00005;
/** What the order of additions may change in the last places. */
const rounding = 1e-9;

/** Everything that is computed from numbers alone; reading and writing of files has its own (src/formats/self-check.ts). */
export const coreAnswers: readonly KnownAnswer[] = [
  ...workedExamples.map(qualityAnswer),
  ...wilsonExamples.map(wilsonAnswer),
  kappaAnswer(),
  iccAnswer(),
  intervalsAnswer(),
  detectorAnswer(),
  hashAnswer(),
  chainAnswer(),
];

function qualityAnswer(example: WorkedExample): KnownAnswer {
  const { title, missed, wrongPeak, extra, judged, lost, right, qualityPercent } = example;
  return {
    topic: 'Quality',
    example: title,
    source: 'by hand from the definition',
    expected: {
      missed,
      'wrong peak': wrongPeak,
      extra,
      right,
      judged,
      lost,
      'quality (%)': qualityPercent,
      'readable (%)': example.readableQualityPercent ?? qualityPercent,
    },
    within: rounding,
    find() {
      const row = scoreRow(scoreExample(example, 250).total) as Record<string, number>;
      return {
        missed: row['missed']!,
        'wrong peak': row['wrongPeak']!,
        extra: row['extra']!,
        right: row['rightIntervals']!,
        judged: row['judgedIntervals']!,
        lost: row['lostIntervals']!,
        'quality (%)': row['qualityPercent']!,
        'readable (%)': row['readableQualityPercent']!,
      };
    },
  };
}

function wilsonAnswer([successes, total, lower, upper]: (typeof wilsonExamples)[number]): KnownAnswer {
  return {
    topic: 'Wilson interval',
    example: `${successes} of ${total}`,
    source: 'Newcombe, Stat Med 1998;17:857, table I',
    expected: { lower, upper },
    within: fourDecimals,
    find() {
      const [low, high] = wilsonInterval(successes, total)!;
      return { lower: low, upper: high };
    },
  };
}

function kappaAnswer(): KnownAnswer {
  const { table, kappa, observedAgreement, chanceAgreement } = kappaExample;
  return {
    topic: 'Kappa',
    example: `table ${table.map(row => row.join(' ')).join(' / ')}`,
    source: 'Cohen, Educ Psychol Meas 1960;20:37, by hand',
    expected: { kappa, observed: observedAgreement, chance: chanceAgreement },
    within: rounding,
    find() {
      const found = cohenKappa(table);
      if (found.value === null) throw new Error(found.reason);
      return { kappa: found.value, observed: found.observedAgreement, chance: found.chanceAgreement };
    },
  };
}

function iccAnswer(): KnownAnswer {
  const named = (form: string) => `ICC(${form})`;
  return {
    topic: 'Intraclass correlation',
    example: '6 subjects, 4 judges',
    source: 'Shrout & Fleiss, Psychol Bull 1979;86:420, tables 2 and 4',
    expected: Object.fromEntries(Object.entries(iccExample.values).map(([form, value]) => [named(form), value])),
    within: twoDecimals,
    find() {
      const found = intraclassCorrelations(iccExample.table);
      return Object.fromEntries(Object.keys(iccExample.values).map(f => [named(f), found[f as IccForm].value]));
    },
  };
}

function intervalsAnswer(): KnownAnswer {
  return {
    topic: 'RR intervals',
    example: '100 intervals, 800 and 900 ms in turn',
    source: 'Task Force, Circulation 1996;93:1043, definitions',
    expected: {
      'mean (ms)': alternatingAnswers.meanNnMs,
      'RMSSD (ms)': alternatingAnswers.rmssdMs,
      'pNN50 (%)': alternatingAnswers.pnn50Percent,
    },
    within: rounding,
    find() {
      const { meanNnMs, rmssdMs, pnn50Percent } = timeDomain(nnSeriesOf(alternatingIntervals(100)));
      return { 'mean (ms)': meanNnMs.value, 'RMSSD (ms)': rmssdMs.value, 'pNN50 (%)': pnn50Percent.value };
    },
  };
}

function detectorAnswer(): KnownAnswer {
  return {
    topic: 'Detector',
    example: 'one simulated minute with muscle noise',
    source: 'the beats the simulation placed; its words as made by Node on Linux',
    expected: { beats: simulatedAnswers.beats, missed: 0, 'wrong peak': 0, extra: 0, signal: simulatedAnswers.signal },
    within: 0,
    find() {
      const { beats, leads, samplingRateHz, sampleCount } = simulatedMinute();
      const { counts } = scoreRecording({
        beats,
        marks: detectBeats(leads[0]!, samplingRateHz).samples,
        unreadable: [],
        gaps: [],
        segments: [{ name: 'whole', ...span(0, sampleCount) }],
        samplingRateHz,
        settings: defaultMatchSettings,
      }).total;
      const { missed, wrongPeak, extra } = counts;
      const signal = shortHash(sha256Hex(new Uint8Array(leads[0]!.buffer)));
      return { beats: counts.beats, missed, 'wrong peak': wrongPeak, extra, signal };
    },
  };
}

function hashAnswer(): KnownAnswer {
  return {
    topic: 'Checksum',
    example: 'SHA-256 of abc',
    source: 'FIPS 180-4',
    expected: { 'SHA-256': sha256OfAbc },
    within: 0,
    find: () => ({ 'SHA-256': sha256Hex(utf8ToBytes('abc')) }),
  };
}

function chainAnswer(): KnownAnswer {
  return {
    topic: 'Log',
    example: 'three entries, then the second one changed',
    source: 'hashlib of Python 3',
    expected: {
      first: shortHash(chainAnswers.first),
      last: shortHash(chainAnswers.last),
      chain: 'whole',
      'changed entry found': 2,
    },
    within: 0,
    find() {
      const log = chainExample();
      const entries = log.entries.map((e, i) => (i === 1 ? { ...e, at: '2026-09-13T09:00:00.000Z' } : e));
      const changed = verifyChain({ ...log, entries });
      return {
        first: shortHash(log.entries[0]!.hash),
        last: shortHash(log.entries.at(-1)!.hash),
        chain: verifyChain(log).ok ? 'whole' : 'broken',
        'changed entry found': changed.ok ? null : changed.seq + 1,
      };
    },
  };
}

/** Enough of a checksum to compare by eye. */
function shortHash(hash: string): string {
  return hash.slice(0, 16);
}
