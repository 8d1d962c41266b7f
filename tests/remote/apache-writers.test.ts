import { apache } from './server';
import { writersSuite } from './writers';

writersSuite(apache);
