import type { StripScene } from '../scene';
import { leavingIn } from '../trace/leaving';

const halfPx = 5;

/** A wave that leaves its row ends at the edge: an arrowhead there says that it goes on. */
export function paintLeaving({ windows, group, surface, palette }: StripScene): void {
  group.traces.forEach((band, i) => {
    const window = windows[i];
    if (!window) return;
    for (const { x, edge } of leavingIn(window, band)) {
      const tip = edge === 'top' ? band.top + 1 : band.top + band.height - 1;
      const foot = tip + (edge === 'top' ? 1 : -1) * halfPx * 1.4;
      surface.shape([x - halfPx, foot, x + halfPx, foot, x, tip], palette.needsYou);
    }
  });
}
