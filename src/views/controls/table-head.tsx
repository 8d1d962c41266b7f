/** A column's heading: `left` where its cells are words, not numbers, `hidden` where only a screen reader needs it. */
type Column = string | { readonly left: string } | { readonly hidden: string } | { readonly wrap: string };

export function TableHead({ columns }: { columns: readonly Column[] }) {
  return (
    <thead>
      <tr>
        {columns.map(column => {
          const { name, look } = headingOf(column);
          return (
            <th key={name} scope="col" className={look === 'hidden' ? undefined : look}>
              {look === 'hidden' ? <span className="visually-hidden">{name}</span> : name}
            </th>
          );
        })}
      </tr>
    </thead>
  );
}

function headingOf(column: Column): { name: string; look?: 'left' | 'hidden' | 'wrap' } {
  if (typeof column === 'string') return { name: column };
  if ('left' in column) return { name: column.left, look: 'left' };
  return 'wrap' in column ? { name: column.wrap, look: 'wrap' } : { name: column.hidden, look: 'hidden' };
}
