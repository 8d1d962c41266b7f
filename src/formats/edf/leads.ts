import { FormatError } from '../format-error';
import type { EdfHeader, EdfSignal } from './header';

/** One signal that becomes a lead. mV = (word - offset) * mvPerUnit. */
export interface EdfLead {
  readonly signal: EdfSignal;
  readonly samplingRateHz: number;
  readonly mvPerUnit: number;
  readonly offset: number;
}

const highestRateHz = 1e6;

/** Factor to mV; undefined for units that are no voltage. */
export function mvPer(unit: string): number | undefined {
  const name = unit.trim().replace(/[µμ]/g, 'u');
  if (/^uv$/i.test(name)) return 0.001;
  if (name === 'V' || name === 'v') return 1000;
  if (/^nv$/i.test(name)) return 1e-6;
  return /^mv$/i.test(name) ? 1 : undefined;
}

/**
 * Picks the signals to read: those asked for, else all voltages, else all. Signals whose header makes no scale are left
 * out with a warning.
 */
export function chooseLeads(
  file: string,
  header: EdfHeader,
  asked: readonly number[] | undefined,
  warnings: string[],
): EdfLead[] {
  const ordinary = header.signals.filter(s => !s.isAnnotations && s.samplesPerRecord > 0);
  const fail = (problem: string, remedy: string): never => {
    throw new FormatError(file, 'EDF', 'signal headers', problem, remedy);
  };
  if (ordinary.length === 0) fail('there are only annotations.', 'Open it as marks or segments of another recording.');
  if (header.recordSeconds === 0)
    fail('the record duration is 0, so there is no sampling rate.', 'Correct the header.');
  const voltages = ordinary.filter(s => mvPer(s.unit) !== undefined);
  const wanted = asked ? ordinary.filter(s => asked.includes(header.signals.indexOf(s))) : voltages;
  const chosen = asked || voltages.length > 0 ? wanted : ordinary;
  if (!asked && chosen.length < ordinary.length) {
    const names = ordinary.filter(s => !chosen.includes(s)).map(s => `${s.label} (${s.unit || 'no unit'})`);
    warnings.push(`Signals that are no voltage are left out: ${names.join(', ')}.`);
  }
  const leads = chosen.flatMap(s => scaleLead(s, header, warnings));
  if (leads.length === 0) fail('no signal has a usable scale.', 'Correct physical and digital minimum and maximum.');
  return leads;
}

function scaleLead(signal: EdfSignal, { recordSeconds }: EdfHeader, warnings: string[]): EdfLead[] {
  const { physicalMin, physicalMax, digitalMin, digitalMax, label, unit } = signal;
  const factor = mvPer(unit);
  const slope = (physicalMax - physicalMin) / (digitalMax - digitalMin);
  const samplingRateHz = signal.samplesPerRecord / recordSeconds;
  if (!Number.isFinite(slope) || slope === 0 || samplingRateHz > highestRateHz) {
    const range = `physical ${physicalMin}..${physicalMax}, digital ${digitalMin}..${digitalMax}`;
    warnings.push(`${label} has no usable scale or rate (${range}, ${samplingRateHz} Hz) and is left out.`);
    return [];
  }
  if (factor === undefined) warnings.push(`${label} has the unit "${unit}", which is no voltage; it is read as mV.`);
  if (slope < 0) warnings.push(`${label} is upside down by its header; its amplitudes are turned accordingly.`);
  const offset = digitalMin - physicalMin / slope;
  return [{ signal, samplingRateHz, mvPerUnit: slope * (factor ?? 1), offset }];
}

/** The lead whose rate is the recording's: among ECG-named leads (else all), the first with the highest rate. */
export function referenceLead(leads: readonly EdfLead[]): number {
  const named = leads.filter(l => /e[ck]g/i.test(l.signal.label));
  const pool = named.length > 0 ? named : leads;
  const best = pool.reduce((a, b) => (b.samplingRateHz > a.samplingRateHz ? b : a));
  return leads.indexOf(best);
}
