import type { WavePicture } from '../../core/detector/sinus/kinds';

/** Of the picture, width to height. */
const ratio = 2.2;

/** Waves of one kind over each other, in front of sinus beats in a paler line; both on one scale. */
export function WaveOverlay({
  picture,
  beside,
  height,
}: {
  picture: WavePicture;
  beside: WavePicture;
  height: number;
}) {
  const width = ratio * height;
  const values = [...picture.waves, ...beside.waves];
  const low = Math.min(...values.map(w => Math.min(...w)));
  const high = Math.max(...values.map(w => Math.max(...w)));
  const path = (wave: Float32Array) =>
    Array.from(wave, (v, i) => {
      const x = (i / Math.max(1, wave.length - 1)) * width;
      const y = high > low ? 2 + ((high - v) / (high - low)) * (height - 4) : height / 2;
      return `${i === 0 ? 'M' : 'L'}${x.toFixed(1)} ${y.toFixed(1)}`;
    }).join('');
  return (
    <svg className="wave-overlay" viewBox={`0 0 ${width} ${height}`} height={height} aria-hidden="true">
      <path className="beside" d={beside.waves.slice(0, 12).map(path).join('')} />
      <path className="waves" d={picture.waves.map(path).join('')} />
    </svg>
  );
}
