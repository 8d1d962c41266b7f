/**
 * Capital of two bettors against a share p of wrong intervals. `plus` grows when p is too large, `minus` when it is too
 * small; if p is the truth, neither can expect to grow.
 */
export interface Capital {
  readonly p: number;
  plus: number;
  minus: number;
}

/**
 * Where the terms of a draw lie in its row. Each is a polynomial in p, by ascending powers: `d` = c - y, how the draw came
 * out; `mu` = c - K, what was expected; `variance` of y. From `classes` on three numbers a class: the largest y it can
 * give is K + n0 - n2 p, the smallest K - n1 - n2 p.
 */
export const term = { d: 0, mu: 2, variance: 4, classes: 7 } as const;

/** Largest share of its capital a bettor may lose in one draw. */
const stake = 0.98;

/** The draws so far, kept flat so that the bets against another p can be replayed quickly. */
export class DrawHistory {
  private readonly stride: number;
  private values: Float64Array;
  private drawCount = 0;

  constructor(classes: number) {
    this.stride = term.classes + 3 * classes;
    this.values = new Float64Array(64 * this.stride);
  }

  get count(): number {
    return this.drawCount;
  }

  /** A new row for the next draw, zeros, to be filled. */
  next(): Float64Array {
    const at = this.drawCount * this.stride;
    if (at + this.stride > this.values.length) {
      const larger = new Float64Array(2 * this.values.length);
      larger.set(this.values);
      this.values = larger;
    }
    this.drawCount++;
    return this.values.subarray(at, at + this.stride);
  }

  /** Lets both bettors take part in draw number `draw`. */
  bet(capital: Capital, draw: number): void {
    const values = this.values;
    const { p } = capital;
    const at = draw * this.stride;
    const end = at + this.stride;
    const mu = values[at + term.mu]! + values[at + term.mu + 1]! * p;
    const variance =
      values[at + term.variance]! + p * (values[at + term.variance + 1]! + p * values[at + term.variance + 2]!);
    const lambda = mu / (variance + mu * mu);
    // No bet without an expectation; where p leaves no room to lose, it cannot be the truth, and the sums show it.
    if (lambda > 0) {
      const worst = furthest(values, at + term.classes, 2, end, -p) - mu;
      if (worst > 0) capital.plus *= 1 + Math.min(lambda, stake / worst) * result(values, at, p);
    } else if (lambda < 0) {
      const worst = furthest(values, at + term.classes + 1, 1, end, p) + mu;
      if (worst > 0) capital.minus *= 1 - Math.min(-lambda, stake / worst) * result(values, at, p);
    }
  }

  /** Capital against `p` after all draws, or as it was when one bettor first reached `limit`. */
  replay(p: number, limit: number): Capital {
    const capital: Capital = { p, plus: 1, minus: 1 };
    for (let draw = 0; draw < this.drawCount; draw++) {
      this.bet(capital, draw);
      if (capital.plus >= limit || capital.minus >= limit) break;
    }
    return capital;
  }
}

function result(values: Float64Array, at: number, p: number): number {
  return values[at + term.d]! + values[at + term.d + 1]! * p;
}

/** Largest value at p of the lines whose constants begin at `from`, with their slopes `slope` numbers further on. */
function furthest(values: Float64Array, from: number, slope: number, end: number, p: number): number {
  let largest = Number.NEGATIVE_INFINITY;
  for (let i = from; i < end; i += 3) {
    const reach = values[i]! + values[i + slope]! * p;
    if (reach > largest) largest = reach;
  }
  return largest;
}
