import { durationSeconds, type Recording, type Segment } from '../../recording/recording';
import { sampleIndex } from '../../units';
import type { Study } from './study';

/**
 * The activities of a protocol as a person writes them, one a line: a name, or a name with start and end from the
 * recording's start, `uphill run, 15:00, 20:00`.
 */
export type Template = Pick<Study, 'segmentTemplate' | 'segmentSeconds'>;

export interface TemplateText {
  readonly template: Template;
  /** What is wrong with a line, in words; null when all can be used. */
  readonly problem: string | null;
}

export function readTemplate(text: string): TemplateText {
  const names: string[] = [];
  const seconds: Record<string, readonly [number, number]> = {};
  for (const [i, line] of text.split('\n').entries()) {
    const parts = line.split(',').map(p => p.trim());
    const [start, end] = parts.slice(-2).map(secondsOf);
    const timed = parts.length >= 3 && start !== null && end !== null;
    const name = (timed ? parts.slice(0, -2) : parts).join(', ');
    const broken = (problem: string) => ({ template: { segmentTemplate: [] }, problem: `Line ${i + 1}: ${problem}` });
    if (name === '') {
      if (line.trim() !== '') return broken('there is no name.');
      continue;
    }
    if (names.includes(name)) return broken(`${name} stands there twice.`);
    names.push(name);
    if (!timed) continue;
    if (end! <= start!) return broken(`${name} ends before it starts.`);
    seconds[name] = [start!, end!];
  }
  const timedToo = Object.keys(seconds).length > 0 ? { segmentSeconds: seconds } : {};
  return { template: { segmentTemplate: names, ...timedToo }, problem: null };
}

/** Seconds of '300', '5:00', '1:05:00' or '12.5'; null for anything else. */
function secondsOf(text: string): number | null {
  if (!/^(\d+:){0,2}\d+(\.\d+)?$/.test(text)) return null;
  return text.split(':').reduce((sum, part) => 60 * sum + Number(part), 0);
}

export function templateText({ segmentTemplate, segmentSeconds }: Template): string {
  return segmentTemplate
    .map(name => {
      const times = segmentSeconds?.[name];
      return times ? `${name}, ${clockText(times[0])}, ${clockText(times[1])}` : name;
    })
    .join('\n');
}

function clockText(seconds: number): string {
  const minutes = Math.floor(seconds / 60);
  const rest = Number((seconds - 60 * minutes).toFixed(3));
  return `${minutes}:${rest < 10 ? '0' : ''}${rest}`;
}

/** The template's timed activities on a recording, cut where it ends. */
export function templateSegments({ segmentTemplate, segmentSeconds }: Template, recording: Recording): Segment[] {
  const length = durationSeconds(recording);
  const at = (seconds: number) =>
    sampleIndex(Math.min(recording.sampleCount, Math.round(seconds * recording.samplingRateHz)));
  const timed = segmentTemplate.flatMap(name => {
    const times = segmentSeconds?.[name];
    return times && times[0] < length ? [{ name, start: at(times[0]), end: at(times[1]) }] : [];
  });
  return timed.sort((a, b) => a.start - b.start || a.end - b.end);
}
