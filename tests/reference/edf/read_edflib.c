/* Prints what EDFlib reads from an EDF+ file, as JSON: digital words of each signal, and annotations.
 * Build: gcc read_edflib.c -o /tmp/read_edflib -ledf   (Debian libedf-dev 1.23) */
#include <edflib.h>
#include <stdio.h>
#include <stdlib.h>

int main(int argc, char **argv) {
  struct edf_hdr_struct h;
  if (argc < 2 || edfopen_file_readonly(argv[1], &h, EDFLIB_READ_ALL_ANNOTATIONS)) {
    fprintf(stderr, "not opened: %d\n", h.filetype);
    return 1;
  }
  printf("{\"filetype\":%d,\"records\":%lld,\"recordSeconds\":%.7f,\"start\":\"%04d-%02d-%02dT%02d:%02d:%02d\",\"subSecond\":%.7f,",
         h.filetype, h.datarecords_in_file, h.datarecord_duration / 1e7, h.startdate_year, h.startdate_month,
         h.startdate_day, h.starttime_hour, h.starttime_minute, h.starttime_second, h.starttime_subsecond / 1e7);
  printf("\"signals\":[");
  for (int s = 0; s < h.edfsignals; s++) {
    struct edf_param_struct *p = &h.signalparam[s];
    int n = (int)p->smp_in_file;
    int *words = malloc(sizeof(int) * n);
    if (edfread_digital_samples(h.handle, s, n, words) != n) return 2;
    printf("%s{\"label\":\"%s\",\"unit\":\"%s\",\"physicalMin\":%.9g,\"physicalMax\":%.9g,\"words\":[", s ? "," : "", p->label,
           p->physdimension, p->phys_min, p->phys_max);
    for (int i = 0; i < n; i++) printf("%s%d", i ? "," : "", words[i]);
    printf("]}");
    free(words);
  }
  printf("],\"annotations\":[");
  for (long long i = 0; i < h.annotations_in_file; i++) {
    struct edf_annotation_struct a;
    if (edf_get_annotation(h.handle, (int)i, &a)) return 3;
    printf("%s{\"onset\":%.7f,\"duration\":\"%s\",\"text\":\"%s\"}", i ? "," : "", a.onset / 1e7, a.duration, a.annotation);
  }
  printf("]}\n");
  edfclose_file(h.handle);
  return 0;
}
