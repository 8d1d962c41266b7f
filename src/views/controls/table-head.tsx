/** A column's heading; `left` where its cells are words, not numbers. */
type Column = string | { readonly left: string };

export function TableHead({ columns }: { columns: readonly Column[] }) {
  return (
    <thead>
      <tr>
        {columns.map(column => {
          const name = typeof column === 'string' ? column : column.left;
          return (
            <th key={name} scope="col" className={typeof column === 'string' ? undefined : 'left'}>
              {name}
            </th>
          );
        })}
      </tr>
    </thead>
  );
}
