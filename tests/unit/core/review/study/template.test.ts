import { describe, expect, test } from 'vitest';
import { readTemplate, templateSegments, templateText } from '../../../../../src/core/review/study/template';
import { recordingWith } from '../sample-session';

describe('activities of a protocol, one a line', () => {
  // source: definition; 60 s a minute
  test('names, and names with times', () => {
    const { template, problem } = readTemplate(
      'radio watch, 0:00, 5:00\n\nuphill run, fast, 300, 1:05:00.5\nsled haul\n',
    );
    expect(problem).toBeNull();
    expect(template.segmentTemplate).toEqual(['radio watch', 'uphill run, fast', 'sled haul']);
    expect(template.segmentSeconds).toEqual({ 'radio watch': [0, 300], 'uphill run, fast': [300, 3900.5] });
    expect(readTemplate(templateText(template)).template).toEqual(template);
    expect(readTemplate('a\nb').template).toEqual({ segmentTemplate: ['a', 'b'] });
  });

  test('what cannot be used says the line', () => {
    expect(readTemplate('rest\nrest').problem).toBe('Line 2: rest stands there twice.');
    expect(readTemplate('rest, 5:00, 1:00').problem).toContain('ends before it starts');
    expect(readTemplate(', 5:00, 6:00').problem).toContain('no name');
  });

  test('on a recording: in samples, cut at its end, what lies beyond left out', () => {
    const { recording } = recordingWith({ detected: [] });
    const length = recording.sampleCount / recording.samplingRateHz;
    const text = `late, ${length - 1}, ${length + 9}\nearly, 0, 2\nbeyond, ${length + 1}, ${length + 2}\nuntimed`;
    expect(templateSegments(readTemplate(text).template, recording)).toEqual([
      { name: 'early', start: 0, end: 2 * recording.samplingRateHz },
      { name: 'late', start: recording.sampleCount - recording.samplingRateHz, end: recording.sampleCount },
    ]);
  });
});
