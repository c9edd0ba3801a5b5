// Pictures against small references kept in tests/pictures/render. The tolerance allows for other
// drivers' rounding of edges, not for another colour, size or place. To renew them after a wanted
// change, run with MACLE_WRITE_REFERENCES=1 and look at each.
#include "reference.h"
#include "core/stone/sample.h"
#include "stage.h"

namespace macle::render::test {
namespace {

void stage(Scene& scene, Theme theme) {
    scene.setTheme(theme);
    scene.setStone(sampleStone(12000));
    scene.setDesign(roundSolids());
    scene.setPlacement(placedAt({-0.3, -0.2, -0.2}, 7.0, {1.0, 0.4, 0.0}, 17.0));
}

TEST(Reference, Oblique) {
    MACLE_NEEDS_PICTURES();
    for (const bool dark : {false, true}) {
        Scene scene;
        stage(scene, dark ? Theme::Dark : Theme::Light);
        scene.setLimits({{-0.3, 3.2, 0.2}});
        scene.look(ViewFrom::Oblique);
        compare(scene, dark ? "oblique_dark" : "oblique_light");
    }
}

TEST(Reference, TableWithAChosenDefect) {
    MACLE_NEEDS_PICTURES();
    for (const bool dark : {false, true}) {
        Scene scene;
        stage(scene, dark ? Theme::Dark : Theme::Light);
        scene.look(ViewFrom::Table);
        scene.setHighlightedDefect(0);
        compare(scene, dark ? "table_dark" : "table_light");
    }
}

TEST(Reference, Section) {
    MACLE_NEEDS_PICTURES();
    for (const bool dark : {false, true}) {
        Scene scene;
        stage(scene, dark ? Theme::Dark : Theme::Light);
        scene.look(ViewFrom::Oblique);
        scene.setSection({0.1, -1.0, 0.1}, 0.5);
        compare(scene, dark ? "section_dark" : "section_light");
    }
}

}  // namespace
}  // namespace macle::render::test
