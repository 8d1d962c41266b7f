import { rightsSuite } from './rights';
import { nginx } from './server';

rightsSuite(nginx);
