import type { ReactNode } from 'react';

/** The first rows of a text file, cell by cell, under what each column is taken for. */
export function PreviewTable(props: {
  caption: string;
  rows: readonly (readonly string[])[];
  heads: readonly ReactNode[];
  chosen?: readonly number[];
}) {
  return (
    <section className="import-preview" aria-label={props.caption}>
      <table>
        <thead>
          <tr>
            {props.heads.map((head, c) => (
              // biome-ignore lint/suspicious/noArrayIndexKey: columns have no identity but their place
              <th key={c} scope="col">
                {head}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {props.rows.slice(0, 5).map((row, r) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: rows have no identity but their place
            <tr key={r}>
              {props.heads.map((_, c) => (
                // biome-ignore lint/suspicious/noArrayIndexKey: as above
                <td key={c} className={props.chosen && !props.chosen.includes(c) ? 'soft' : undefined}>
                  {row[c] ?? ''}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}
