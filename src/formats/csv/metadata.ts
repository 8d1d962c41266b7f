/**
 * What lies beside a CSV file and says what it was made from, as JSON: `notes` of the annotated table (W3C, Metadata
 * Vocabulary for Tabular Data, 2015, section 5.4.2). Such a file is called as the table with `-metadata.json` after it.
 */
export function csvMetadata(url: string, facts: object): string {
  return `${JSON.stringify({ '@context': 'http://www.w3.org/ns/csvw', url, notes: [facts] }, null, 1)}\n`;
}

export const csvMetadataName = (url: string) => `${url}-metadata.json`;
