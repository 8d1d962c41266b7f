import { nginx } from './server';
import { writersSuite } from './writers';

writersSuite(nginx);
