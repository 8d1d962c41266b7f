/** Logistic regression with a ridge penalty, by Newton's method (iteratively reweighted least squares; common practice). */
export function fitLogistic(
  x: readonly Float64Array[],
  y: readonly number[],
  weight: readonly number[],
  ridge: number,
): Float64Array {
  const d = x[0]!.length;
  const beta = new Float64Array(d);
  for (let round = 0; round < 40; round++) {
    const gradient = new Float64Array(d);
    const hessian = Array.from({ length: d }, () => new Float64Array(d));
    for (const [i, row] of x.entries()) {
      const p = logistic(dot(row, beta));
      const w = weight[i]! * Math.max(1e-9, p * (1 - p));
      const residual = weight[i]! * (y[i]! - p);
      for (let a = 0; a < d; a++) {
        if (row[a] === 0) continue;
        gradient[a]! += row[a]! * residual;
        for (let b = 0; b < d; b++) hessian[a]![b]! += w * row[a]! * row[b]!;
      }
    }
    // The first column is the constant, which is not penalised.
    for (let a = 0; a < d; a++) {
      hessian[a]![a]! += a === 0 ? 1e-9 : ridge;
      if (a > 0) gradient[a]! -= ridge * beta[a]!;
    }
    const step = solved(hessian, gradient);
    let largest = 0;
    for (let a = 0; a < d; a++) {
      const s = Math.max(-2, Math.min(2, step[a]!));
      beta[a]! += s;
      largest = Math.max(largest, Math.abs(s));
    }
    if (largest < 1e-6) break;
  }
  return beta;
}

export function logistic(z: number): number {
  return 1 / (1 + Math.exp(-z));
}

export function dot(a: ArrayLike<number>, b: ArrayLike<number>): number {
  let sum = 0;
  for (let k = 0; k < a.length; k++) sum += a[k]! * b[k]!;
  return sum;
}

/** Solves a symmetric positive definite system by Gaussian elimination. */
function solved(matrix: readonly Float64Array[], right: Float64Array): Float64Array {
  const a = matrix.map((row, i) => Float64Array.from([...row, right[i]!]));
  const n = a.length;
  for (let c = 0; c < n; c++) {
    let pivot = c;
    for (let r = c + 1; r < n; r++) if (Math.abs(a[r]![c]!) > Math.abs(a[pivot]![c]!)) pivot = r;
    [a[c], a[pivot]] = [a[pivot]!, a[c]!];
    for (let r = 0; r < n; r++) {
      if (r === c) continue;
      const f = a[r]![c]! / a[c]![c]!;
      for (let k = c; k <= n; k++) a[r]![k]! -= f * a[c]![k]!;
    }
  }
  return Float64Array.from(a, (row, i) => row[n]! / row[i]!);
}
