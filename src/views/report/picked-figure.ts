/** The figure picked, or the first: a report that is computed again may lack the one picked before. */
export function pickedFigure<F extends { readonly id: string }>(figures: readonly F[], id: string): F | null {
  return figures.find(f => f.id === id) ?? figures[0] ?? null;
}
