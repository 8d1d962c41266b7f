/**
 * What the two identification fields of EDF+ hold (Kemp & Olivan 2003, section 2.1.3.3): patient = code, sex, birth
 * date, name; recording = 'Startdate', date, admission code, technician, equipment. X stands for unknown.
 */

/** Kinds of identification present in the fields, without their contents. */
export function identificationKinds(patient: string, recordingText: string): string[] {
  const kinds: string[] = [];
  const parts = patient.split(/ +/).filter(p => p !== '');
  const plus = /^\S+ [MFX] (\d\d-[A-Za-z]{3}-\d{4}|X) \S+/.test(patient);
  const names = ['patient code', 'sex', 'birth date', 'patient name', 'further patient text'];
  if (plus) {
    for (const [i, part] of parts.entries()) if (part !== 'X') kinds.push(names[Math.min(i, 4)]!);
  } else if (parts.some(p => p !== 'X')) kinds.push('patient identification text');
  if (/^Startdate /.test(recordingText)) {
    const [, , admission, technician] = recordingText.split(/ +/);
    if (admission && admission !== 'X') kinds.push('admission code');
    if (technician && technician !== 'X') kinds.push('technician');
  } else if (recordingText !== '') kinds.push('recording identification text');
  return [...new Set(kinds)];
}

/** The equipment named by an EDF+ recording field; null when there is none. */
export function equipment(recordingText: string): string | null {
  const parts = recordingText.split(/ +/);
  if (parts[0] !== 'Startdate' || parts[4] === undefined || parts[4] === 'X') return null;
  return parts.slice(4).join(' ').replaceAll('_', ' ');
}
