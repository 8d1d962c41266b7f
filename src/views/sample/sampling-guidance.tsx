import { samplingGuidance } from '../../core/review/places/guidance';

/** When to review a sample, what it assumes and what it does not cover, behind one line. */
export function SamplingGuidance() {
  return (
    <details className="small" data-testid="sampling-guidance">
      <summary>{samplingGuidance.heading}</summary>
      <ul>
        {samplingGuidance.points.map(point => (
          <li key={point}>{point}</li>
        ))}
      </ul>
    </details>
  );
}
