// The panel of the whole appraisal: when it is computed and what it shows.
#include <QDockWidget>
#include <QFileDialog>

#include "app/window/appraisal_panel.h"
#include "app/window/main_window.h"
#include "core/appraise/price_table.h"
#include "core/appraise/shop_rates.h"

namespace macle::app {

void MainWindow::makeAppraisal() {
    appraisalPanel_ = new AppraisalPanel;
    appraisalDock_ = new QDockWidget(tr("Appraisal"), this);
    appraisalDock_->setObjectName("appraisalDock");
    appraisalDock_->setWidget(appraisalPanel_);
    appraisalDock_->setAllowedAreas(Qt::LeftDockWidgetArea | Qt::RightDockWidgetArea |
                                    Qt::BottomDockWidgetArea);
    addDockWidget(Qt::RightDockWidgetArea, appraisalDock_);
    appraisalDock_->hide();
    connect(appraisal_, &QAction::triggered, this, [this](bool shown) {
        appraisalDock_->setVisible(shown);
        if (shown) appraiseNow();
    });
    connect(appraisalDock_, &QDockWidget::visibilityChanged, this, [this](bool shown) {
        // A dock behind another tab is not closed.
        appraisal_->setChecked(shown || !appraisalDock_->isHidden());
        if (!shown) appraiser_.cancel();
    });
    connect(&appraiser_, &Appraiser::ready, this,
            [this](const std::shared_ptr<const AppraisalNews>& news) {
                if (document_.isOpen()) appraisalPanel_->display(*news, appraisedState_);
            });
    connect(appraisalPanel_, &AppraisalPanel::wishesChanged, this, &MainWindow::appraiseNow);
    connect(appraisalPanel_, &AppraisalPanel::pricesAsked, this, [this] {
        const QString file = QFileDialog::getOpenFileName(this, tr("Your price table"), {},
                                                          tr("Price tables (*.csv)"));
        if (!file.isEmpty()) takePrices(file.toStdU16String());
    });
    connect(appraisalPanel_, &AppraisalPanel::ratesAsked, this, [this] {
        const QString file = QFileDialog::getOpenFileName(this, tr("Your shop rates"), {},
                                                          tr("Shop rates (*.json)"));
        if (!file.isEmpty()) takeRates(file.toStdU16String());
    });
}

void MainWindow::takePrices(const std::filesystem::path& file) {
    try {
        readPrices({file});
        appraisalPanel_->setPrices(file);
    } catch (const Error& error) {
        showError(error);
    }
}

void MainWindow::takeRates(const std::filesystem::path& file) {
    try {
        readShopRates(file);
        appraisalPanel_->setRates(file);
    } catch (const Error& error) {
        showError(error);
    }
}

// Once the stone is prepared and nothing moves; a newer call cancels the one under way.
void MainWindow::appraiseNow() {
    if (appraisalDock_->isHidden()) return;
    const auto prepared = workshop_.prepared();
    if (!document_.isOpen() || !prepared || !prepared->about(document_) || searching_) return;
    if (appraisedStone_ != prepared->stone || appraisedPlanned_ != document_.planned()) {
        appraisedStone_ = prepared->stone;
        appraisedPlanned_ = document_.planned();
        appraisedState_ = QString::number(++appraisedStates_);
    }
    appraisalPanel_->setComputing(true);
    appraiser_.request(prepared, document_.planned(), appraisalPanel_->wishes());
}

}  // namespace macle::app
