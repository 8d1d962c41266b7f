/**
 * What lies beside a CSV file and says what it was made from, as JSON: `notes` of the annotated table (W3C, Metadata
 * Vocabulary for Tabular Data, 2015, section 5.4.2). Such a file is called as the table with `-metadata.json` after it.
 * `url` is null of a table whose name is not known, which leaves a description of no named table.
 */
export function csvMetadata(url: string | null, facts: object): string {
  const table = url === null ? {} : { url };
  return `${JSON.stringify({ '@context': 'http://www.w3.org/ns/csvw', ...table, notes: [facts] }, null, 1)}\n`;
}

export const csvMetadataName = (url: string) => `${url}-metadata.json`;
