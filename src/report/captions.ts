/** Numbers of tables and figures in their order on paper: 1, 2, ... in the main part, S1, S2, ... in the supplement. */
export interface Captions {
  table(): string;
  figure(): string;
}

export function captions(supplement: boolean): Captions {
  let tables = 0;
  let figures = 0;
  const prefix = supplement ? 'S' : '';
  return {
    table: () => `Table ${prefix}${++tables}.`,
    figure: () => `Figure ${prefix}${++figures}.`,
  };
}
