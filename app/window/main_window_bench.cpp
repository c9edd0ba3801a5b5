// What the bench gets: the working order step by step.
#include <QAction>

#include "app/window/appraisal_panel.h"
#include "app/window/main_window.h"
#include "app/window/work_dialog.h"
#include "core/appraise/shop_rates.h"

namespace macle::app {

void MainWindow::makeBench() {
    connect(workingOrder_, &QAction::triggered, this, &MainWindow::showWorkingOrder);
}

void MainWindow::showWorkingOrder() {
    const auto prepared = workshop_.prepared();
    if (!prepared || job_) return;
    const Layout layout = document_.layout();
    const std::filesystem::path rates = appraisalPanel_->wishes().rates;
    startJob(tr("Working out the steps"),
             [this, prepared, layout, rates](Progress& progress) -> Job::HandOver {
                 const ShopRates shop = readShopRates(rates.empty() ? defaultShopRates() : rates);
                 OrderRequest request;
                 request.rates = &shop;
                 request.keepShapes = true;
                 const WholeLayout whole = weighWhole(prepared->divided, layout, &progress);
                 const auto order = std::make_shared<const WorkingOrder>(orderWork(
                     *prepared->of, *prepared->wholeCutter, layout, whole, request, &progress));
                 return [this, stone = prepared->of, layout, order] {
                     auto* dialog =
                         new WorkDialog(stone, layout, order, resolved(themeChoice_), this);
                     dialog->setAttribute(Qt::WA_DeleteOnClose);
                     workDialog_ = dialog;
                     dialog->QDialog::show();
                 };
             });
}

}  // namespace macle::app
