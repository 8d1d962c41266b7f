import type { ProgressPoint } from '../../core/review/standing/progress';

const width = 460;
const height = 190;
const left = 44;
const right = 12;
const top = 12;
const bottom = 34;
/** The last so many lessons; older ones would crowd the points. */
const shownPoints = 20;

/** Share of the points, lesson by lesson, with the difficulty of each under it. */
export function ProgressChart({ points }: { points: readonly ProgressPoint[] }) {
  const shown = points.slice(-shownPoints);
  const step = (width - left - right) / Math.max(1, shown.length);
  const x = (i: number) => left + step * (i + 0.5);
  const y = (share: number) => top + (1 - share) * (height - top - bottom);
  const words = shown.map(p => `${Math.round(p.share * 100)} % at difficulty ${p.difficulty}`).join(', ');
  return (
    <svg
      className="progress-chart"
      viewBox={`0 0 ${width} ${height}`}
      role="img"
      aria-label={`Share of the points, oldest lesson first: ${words}`}
    >
      {[0, 0.5, 1].map(share => (
        <g key={share}>
          <line className="rule" x1={left} x2={width - right} y1={y(share)} y2={y(share)} />
          <text className="label" x={left - 6} y={y(share) + 4} textAnchor="end">
            {share * 100} %
          </text>
        </g>
      ))}
      <polyline className="line" points={shown.map((p, i) => `${x(i)},${y(p.share)}`).join(' ')} />
      {shown.map((p, i) => (
        <g key={`${p.at} ${p.share}`}>
          <circle className="point" cx={x(i)} cy={y(p.share)} r={4}>
            <title>
              {new Date(p.at).toLocaleString()}: {Math.round(p.share * 100)} % at difficulty {p.difficulty}
            </title>
          </circle>
          <text className="label" x={x(i)} y={height - bottom + 16} textAnchor="middle">
            {p.difficulty}
          </text>
        </g>
      ))}
      <text className="label" x={width - right} y={height - 4} textAnchor="end">
        difficulty of each lesson, oldest first
      </text>
    </svg>
  );
}
