import type { Candidates } from './candidates';
import type { LeadsWindow } from './leads';
import type { LocalStatistics } from './local';

/**
 * A beat moves the line in every lead in which the beats around it do, a spike of one electrode in that lead alone. So a wave
 * loses evidence where a lead that shows the other beats shows next to nothing.
 */
const reachS = 0.05;
/** The beats around show in a lead when even the lowest tenth of them is higher than this multiple of the other waves. */
const lowest = 0.1;
const usual = 0.5;
const clearOf = 1.25;
/** Nothing is what has less than this share of that tenth's energy: log-odds lost per factor e below it, and the most. */
const nothing = 0.5;
const slope = 6;
const most = 5;
/** Less than this share of it is as good as none. */
const leastShare = 0.02;

/** What each lead of a window shows at the candidates. */
export class Absence {
  private readonly leads: LeadsWindow;
  private readonly local: LocalStatistics;
  private readonly each: readonly Candidates[];
  private readonly cost: Float32Array;
  private readonly low: Float32Array;
  private readonly others: Float32Array;

  /** `cells`: how many cells of `local` the window of `n` working samples has. */
  constructor(
    leads: LeadsWindow,
    n: number,
    workingHz: number,
    candidates: Candidates,
    local: LocalStatistics,
    cells: number,
  ) {
    this.leads = leads;
    this.local = local;
    const reach = Math.round(reachS * workingHz);
    this.each = leads.leads.map(({ energy }) => highestNear(energy, n, candidates, reach));
    this.cost = new Float32Array(candidates.count);
    this.low = new Float32Array(cells);
    this.others = new Float32Array(cells);
  }

  /** Takes evidence from the candidates that a lead does not show, as it shows those that are `chosen`. */
  weigh(chosen: Uint8Array, evidence: Float32Array): void {
    const { low, others, cost, local } = this;
    cost.fill(0);
    for (const [k, c] of this.each.entries()) {
      low.fill(0);
      others.fill(0);
      local.quantileOf(c, chosen, 1, lowest, low);
      local.quantileOf(c, chosen, 0, usual, others);
      for (let i = 0; i < c.count; i++) {
        const g = Math.floor(c.at[i]! / local.cell);
        const shown = low[g]!;
        if (!(shown > clearOf * others[g]!)) continue;
        const share = Math.max(leastShare, c.energy[i]! / shown);
        if (share >= nothing) continue;
        const clear = 1 - (clearOf * others[g]!) / shown;
        cost[i] = Math.max(cost[i]!, clear * this.leads.showing(k, c.at[i]!) * slope * Math.log(nothing / share));
      }
    }
    for (let i = 0; i < cost.length; i++) evidence[i]! -= Math.min(most, cost[i]!);
  }
}

/** The candidates with the highest energy within `reach` samples of each. */
function highestNear(energy: Float32Array, n: number, { at, count }: Candidates, reach: number): Candidates {
  const out = new Float32Array(count);
  for (let i = 0; i < count; i++) {
    let top = 0;
    const end = Math.min(n - 1, at[i]! + reach);
    for (let j = Math.max(0, at[i]! - reach); j <= end; j++) if (energy[j]! > top) top = energy[j]!;
    out[i] = top;
  }
  return { at, energy: out, count };
}
