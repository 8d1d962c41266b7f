import * as z from 'zod/mini';
import en from 'zod/v4/locales/en.js';

/** The smallest shapes of what is written as JSON in a session bundle. */
z.config({ ...en(), jitless: true });

export const textUpTo = (longest: number) => z.string().check(z.maxLength(longest));
/** Letters, digits and hyphens. */
export const idSchema = z.string().check(z.regex(/^[A-Za-z0-9-]{1,80}$/));
export const index = z.int().check(z.minimum(0), z.maximum(0x7fffffff));
export const positive = z.number().check(z.positive());
export const sha256 = z.string().check(z.regex(/^[0-9a-f]{64}$/));
export const spanSchema = z.strictObject({ start: index, end: index });
export const rater = z.string().check(z.minLength(1), z.maxLength(64));
