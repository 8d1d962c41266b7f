import { rightsSuite } from './rights';
import { apache } from './server';

rightsSuite(apache);
