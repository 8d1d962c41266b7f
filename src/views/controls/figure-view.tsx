import { useEffect, useRef } from 'react';
import { type Figure, figureSvg } from '../../report/figures/figure';

/** A drawn figure; its title and words are inside the drawing for who listens. */
export function FigureView({ figure }: { figure: Figure }) {
  const place = useRef<HTMLElement>(null);
  useEffect(() => {
    const parsed = new DOMParser().parseFromString(figureSvg(figure, false), 'image/svg+xml');
    place.current!.replaceChildren(document.importNode(parsed.documentElement, true));
  }, [figure]);
  return <figure ref={place} className="figure-view" />;
}
