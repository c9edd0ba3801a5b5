#include "core/fit/step_program.h"

#include <glpk.h>
#include <gtest/gtest.h>

#include "fit_bodies.h"

namespace macle {
namespace {

using fit_bodies::Random;
using fit_bodies::uniform;

template <int N>
void agreesWithGlpk(std::uint64_t seed, bool pinned) {
    using Step = typename StepProgram<N>::Step;
    Random random(seed);
    for (int trial = 0; trial < 200; ++trial) {
        StepProgram<N> programme;
        Step low, high;
        for (int j = 0; j < N; ++j) {
            low[j] = -uniform(random, 0.0, 1.0);
            high[j] = uniform(random, 0.0, 1.0);
            if (pinned && random() % 3 == 0) low[j] = high[j] = 0.0;
        }
        const int count = 1 + static_cast<int>(random() % 40);
        glp_prob* lp = glp_create_prob();
        glp_set_obj_dir(lp, GLP_MAX);
        glp_add_cols(lp, N + 1);
        for (int j = 0; j < N; ++j)
            glp_set_col_bnds(lp, j + 1, low[j] < high[j] ? GLP_DB : GLP_FX, low[j], high[j]);
        glp_set_col_bnds(lp, N + 1, GLP_FR, 0.0, 0.0);
        glp_set_obj_coef(lp, N + 1, 1.0);
        glp_add_rows(lp, count);
        int columns[N + 2];
        double values[N + 2];
        for (int i = 0; i < count; ++i) {
            Step slope;
            for (int j = 0; j < N; ++j)
                slope[j] = uniform(random, -1.0, 1.0);
            const double value = uniform(random, 0.0, 0.5);
            programme.add(value, slope);
            for (int j = 0; j < N; ++j) {
                columns[j + 1] = j + 1;
                values[j + 1] = -slope[j];
            }
            columns[N + 1] = N + 1;
            values[N + 1] = 1.0;
            glp_set_mat_row(lp, i + 1, N + 1, columns, values);
            glp_set_row_bnds(lp, i + 1, GLP_UP, 0.0, value);
        }
        glp_smcp rules;
        glp_init_smcp(&rules);
        rules.msg_lev = GLP_MSG_OFF;
        ASSERT_EQ(glp_simplex(lp, &rules), 0);
        const auto answer = programme.solve(low, high);
        EXPECT_NEAR(answer.reached, glp_get_obj_val(lp), 1e-9);
        glp_delete_prob(lp);
        double shares = 0.0;
        for (const auto& [row, share] : answer.holding) {
            EXPECT_GE(share, 0.0);
            if (row >= 0) shares += share;
        }
        EXPECT_NEAR(shares, 1.0, 1e-9);
        EXPECT_TRUE((answer.step.array() >= low.array()).all());
        EXPECT_TRUE((answer.step.array() <= high.array()).all());
    }
}

TEST(StepProgram, AgreesWithGlpkInEachSize) {
    agreesWithGlpk<3>(1, false);
    agreesWithGlpk<6>(2, false);
    agreesWithGlpk<12>(3, false);
}

TEST(StepProgram, LeavesPinnedCoordinatesAlone) {
    agreesWithGlpk<6>(4, true);
    agreesWithGlpk<12>(5, true);
}

}  // namespace
}  // namespace macle
