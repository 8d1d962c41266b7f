import { analysisJobs } from './analysis-jobs';
import { serve } from './worker-client';

serve(analysisJobs);
