/** `4:07.250` or `1:04:07.2`; the shorter the stretch, the more places make sense. */
export function clock(secondsFromStart: number, places = 0): string {
  const sign = secondsFromStart < 0 ? '−' : '';
  const scale = 10 ** places;
  const all = Math.round(Math.abs(secondsFromStart) * scale) / scale;
  const hours = Math.floor(all / 3600);
  const minutes = Math.floor((all % 3600) / 60);
  const rest = (all % 60).toFixed(places).padStart(places > 0 ? places + 3 : 2, '0');
  return sign + (hours > 0 ? `${hours}:${String(minutes).padStart(2, '0')}:${rest}` : `${minutes}:${rest}`);
}

/** Reads what clock() writes, plain seconds too; null when it is neither. */
export function parseClock(text: string): number | null {
  const parts = text.trim().replace(',', '.').split(':');
  if (parts.length === 0 || parts.length > 3 || parts.some(p => !/^\d+(\.\d+)?$/.test(p))) return null;
  return parts.reduce((total, p) => total * 60 + Number(p), 0);
}
