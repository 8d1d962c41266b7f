import { analysisJobs } from './analysis-jobs';
import { serve } from './door';

serve(analysisJobs);
