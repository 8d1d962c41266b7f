import { defineConfig } from 'vitest/config';
import { folders } from './folders.mjs';

const folder = process.env.MUTATE ?? 'marks';

export default defineConfig({ test: { include: folders[folder].tests, testTimeout: 30_000 } });
