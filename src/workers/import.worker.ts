import { importJobs } from './import-jobs';
import { serve } from './worker-client';

serve(importJobs);
