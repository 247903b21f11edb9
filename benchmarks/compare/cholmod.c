/* Times CHOLMOD's supernodal Cholesky factorisation and solution of a symmetric matrix.

   cholmod MATRIX.mtx ORDER.txt REPEATS
     MATRIX.mtx: Matrix Market, coordinate, real, symmetric, positive definite
     ORDER.txt:  for each new row the old one, counted from 0; "own" lets CHOLMOD choose
   Prints: analysis, then median and best of factorisation and of solution (s), entries of L, residual. */
#include <cholmod.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static int ascending(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

int main(int count, char **words) {
    if (count != 4) {
        fprintf(stderr, "usage: cholmod MATRIX.mtx ORDER.txt REPEATS\n");
        return 2;
    }
    cholmod_common c;
    cholmod_start(&c);
    c.supernodal = CHOLMOD_SUPERNODAL;
    FILE *file = fopen(words[1], "r");
    cholmod_sparse *a = file ? cholmod_read_sparse(file, &c) : NULL;
    if (!a) {
        fprintf(stderr, "cannot read %s\n", words[1]);
        return 1;
    }
    fclose(file);
    int n = (int)a->nrow, repeats = atoi(words[3]);
    int *order = NULL;
    if (strcmp(words[2], "own") != 0) {
        order = malloc(sizeof(int) * (size_t)n);
        FILE *list = fopen(words[2], "r");
        for (int i = 0; i < n; i++)
            if (!list || fscanf(list, "%d", &order[i]) != 1) {
                fprintf(stderr, "cannot read %s\n", words[2]);
                return 1;
            }
        fclose(list);
        c.nmethods = 1;
        c.method[0].ordering = CHOLMOD_GIVEN;
    }
    double start = now();
    cholmod_factor *l = order ? cholmod_analyze_p(a, order, NULL, 0, &c) : cholmod_analyze(a, &c);
    double analysis = now() - start;
    cholmod_dense *b = cholmod_ones(a->nrow, 1, CHOLMOD_REAL, &c);
    cholmod_dense *x = NULL, *y = NULL, *e = NULL;
    double *factor = malloc(sizeof(double) * (size_t)repeats);
    double *solve = malloc(sizeof(double) * (size_t)repeats);
    cholmod_factorize(a, l, &c);
    for (int r = 0; r < repeats; r++) {
        start = now();
        cholmod_factorize(a, l, &c);
        factor[r] = now() - start;
        start = now();
        cholmod_solve2(CHOLMOD_A, l, b, NULL, &x, NULL, &y, &e, &c);
        solve[r] = now() - start;
    }
    double one[2] = {1, 0}, minus[2] = {-1, 0};
    cholmod_dense *r = cholmod_copy_dense(b, &c);
    cholmod_sdmult(a, 0, minus, one, x, r, &c);
    /* Backward error: the condition of slender parts is no fault of the factorisation. */
    double size = cholmod_norm_sparse(a, 0, &c) * cholmod_norm_dense(x, 0, &c);
    double residual = cholmod_norm_dense(r, 0, &c) / size;
    qsort(factor, (size_t)repeats, sizeof(double), ascending);
    qsort(solve, (size_t)repeats, sizeof(double), ascending);
    printf("{\"analyse\": %g, \"factor\": %g, \"factor_best\": %g, \"solve\": %g, \"solve_best\": %g, "
           "\"entries\": %g, \"positive\": %d, \"residual\": %g}\n",
           analysis, factor[repeats / 2], factor[0], solve[repeats / 2], solve[0], c.lnz,
           c.status == CHOLMOD_OK, residual);
    cholmod_free_dense(&b, &c);
    cholmod_free_dense(&x, &c);
    cholmod_free_dense(&r, &c);
    cholmod_free_dense(&y, &c);
    cholmod_free_dense(&e, &c);
    cholmod_free_factor(&l, &c);
    cholmod_free_sparse(&a, &c);
    cholmod_finish(&c);
    free(order);
    free(factor);
    free(solve);
    return 0;
}
