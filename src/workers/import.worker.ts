import { serve } from './door';
import { importJobs } from './import-jobs';

serve(importJobs);
